/** What a page asks of the server once it is shown, and again when it is told to. */
import { useEffect, useState } from 'preact/hooks';
import { ask, type Refused } from '../send';

export interface Asked<Reply> {
  readonly reply?: Reply;
  readonly refused?: Refused;
  readonly again: () => void;
}

/** Undefined path: nothing is asked. What was told last stays until something else is. */
export function useAsked<Reply>(path: string | undefined): Asked<Reply> {
  const [times, setTimes] = useState(0);
  const [told, setTold] = useState<{
    readonly path: string;
    readonly reply?: Reply;
    readonly refused?: Refused;
  }>();
  useEffect(() => {
    if (path === undefined) return undefined;
    let isOver = false;
    void ask<Reply>(path).then((result) => {
      if (!isOver) setTold({ path, ...result });
    });
    return () => {
      isOver = true;
    };
  }, [path, times]);
  const again = () => setTimes((n) => n + 1);
  if (told === undefined) return { again };
  const { reply, refused } = told;
  return {
    again,
    ...(reply === undefined ? {} : { reply }),
    ...(refused === undefined ? {} : { refused }),
  };
}
