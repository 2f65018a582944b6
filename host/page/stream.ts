/**
 * What the server pushes, kept for whoever shows it. All state is the server's: this is a copy that is thrown away and
 * fetched anew whenever the connection was lost.
 */
import { useEffect, useState } from 'preact/hooks';
import type { BayScreen, LivePart } from '../views/bay-screen';
import { ask, type Refused } from './send';

/** `gone`: the server is not to be heard, and is called again every second. */
export type Connection = 'connecting' | 'here' | 'gone' | 'not paired';

export interface Heard {
  readonly connection: Connection;
  /** Undefined until the first view has come. */
  readonly screen: BayScreen | undefined;
  /** Why the server, though it is to be heard, shows this screen nothing. */
  readonly refused?: Refused;
}

const NOT_PAIRED = 501;

/** The server's sign of life comes every second. */
const SILENCE_MS = 3000;
const CALL_AGAIN_MS = 1000;
const WATCH_MS = 500;

let heard: Heard = { connection: 'connecting', screen: undefined };
const listeners = new Set<(heard: Heard) => void>();
const liveListeners = new Set<(live: LivePart | undefined) => void>();
let source: EventSource | undefined;
let heardAt = 0;

/** Begins to listen; goes on for as long as the page is open. */
export function listen(): void {
  call();
  setInterval(() => {
    if (heard.connection === 'here' && performance.now() - heardAt > SILENCE_MS) lose();
  }, WATCH_MS);
}

/** Calls the server at once, as after pairing. */
export function call(): void {
  source?.close();
  const mine = new EventSource('/api/stream');
  source = mine;
  let parts: Partial<BayScreen> = {};
  const onEvent = (name: string, take: (data: string) => void) =>
    mine.addEventListener(name, (event: MessageEvent<string>) => {
      if (source !== mine) return;
      heardAt = performance.now();
      take(event.data);
    });
  onEvent('view', (data) => {
    parts = { ...parts, ...(JSON.parse(data) as Partial<BayScreen>) };
    if (parts.bay?.fixtures.some((f) => !f.isHere) === true) tellLive(undefined);
    tell({ connection: 'here', screen: parts as BayScreen });
  });
  onEvent('live', (data) => {
    tellLive(JSON.parse(data) as LivePart);
  });
  onEvent('beat', () => {});
  mine.onerror = () => {
    if (source === mine) lose();
  };
}

function lose(refused?: Refused): void {
  source?.close();
  source = undefined;
  tellLive(undefined);
  const { connection, screen } = heard;
  // Before the first view nothing shown is old, and why there is none is asked first.
  if (refused !== undefined) tell({ connection: 'gone', screen, refused });
  else if (connection === 'here' || connection === 'gone') tell({ connection: 'gone', screen });
  setTimeout(() => void callAgain(), CALL_AGAIN_MS);
}

/** A stream cannot say why it was refused: a small request can. */
async function callAgain(): Promise<void> {
  const result = await ask('/api/welcome');
  if ('reply' in result) return call();
  const { refused } = result;
  if (refused.number === NOT_PAIRED) return tell({ ...heard, connection: 'not paired' });
  lose(refused.number === 0 ? undefined : refused);
}

/** Undefined as soon as it is known that none comes: an old height is not to be taken for one. */
function tellLive(live: LivePart | undefined): void {
  liveListeners.forEach((listener) => listener(live));
}

function tell(now: Heard): void {
  heard = now;
  listeners.forEach((listener) => listener(now));
}

/** The view as it was heard last. */
export function useHeard(): Heard {
  const [now, setNow] = useState(heard);
  useEffect(() => {
    listeners.add(setNow);
    setNow(heard);
    return () => void listeners.delete(setNow);
  }, []);
  return now;
}

/** The live height as it was heard last; undefined when there was none for a second. */
export function useLive(): LivePart | undefined {
  const [live, setLive] = useState<LivePart>();
  useEffect(() => {
    let timer = 0;
    const take = (part: LivePart | undefined) => {
      clearTimeout(timer);
      timer = setTimeout(() => setLive(undefined), STALE_MS);
      setLive(part);
    };
    liveListeners.add(take);
    return () => {
      clearTimeout(timer);
      liveListeners.delete(take);
    };
  }, []);
  return live;
}

const STALE_MS = 1000;
