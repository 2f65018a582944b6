/** The bar that follows the nut. */
import type { LiveView } from '../views/live-view';

const WIDTH = 40;
/** Where the target's mark stands; there is room beyond it, for what is turned too far. */
const MARK = 30;

/** "75.10 mm [=====●····|····] turn on: 0.4 mm up to go" */
export function liveBar({ heightMm, share, text }: LiveView): string {
  const at = Math.max(0, Math.min(WIDTH - 1, Math.round(share * MARK)));
  const cell = (i: number) => (i === at ? '●' : i === MARK ? '|' : i < at ? '=' : '·');
  return `${heightMm.toFixed(2)} mm [${Array.from({ length: WIDTH }, (_, i) => cell(i)).join('')}] ${text}`;
}
