/** What this screen is set to. It is this screen's own and stays with it. */
import { useEffect, useState } from 'preact/hooks';

export type Units = 'mm' | 'inch fractions' | 'decimal inch';

export interface Preferences {
  /** Light for sun, dark for a dark bay. */
  readonly theme: 'light' | 'dark';
  readonly units: Units;
  /** The person stands at the front of the machine and faces it: drawings are turned, words are not. */
  readonly atFront: boolean;
}

const KEY = 'swathplane';
const listeners = new Set<(preferences: Preferences) => void>();
let now = read();
apply();

export function usePreferences(): readonly [Preferences, (change: Partial<Preferences>) => void] {
  const [shown, show] = useState(now);
  useEffect(() => {
    listeners.add(show);
    return () => void listeners.delete(show);
  }, []);
  return [shown, change];
}

function change(part: Partial<Preferences>): void {
  now = { ...now, ...part };
  try {
    localStorage.setItem(KEY, JSON.stringify(now));
  } catch {
    // A browser that keeps nothing shows the page all the same.
  }
  apply();
  listeners.forEach((listener) => listener(now));
}

function read(): Preferences {
  const usual: Preferences = {
    theme: matchMedia('(prefers-color-scheme: dark)').matches ? 'dark' : 'light',
    units: 'mm',
    atFront: false,
  };
  try {
    return { ...usual, ...(JSON.parse(localStorage.getItem(KEY) ?? '{}') as Partial<Preferences>) };
  } catch {
    return usual;
  }
}

function apply(): void {
  document.documentElement.dataset.theme = now.theme;
}
