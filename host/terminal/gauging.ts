/** A session at the keyboard: the step in words, a key to capture, one to leave a step out. */
import type { SessionHands, SessionScreen } from '../conduct/gauging-session';
import { gaugingStepText } from '../views/gauging-words';
import { LeftByTechnician, type Keys } from './hands';
import { captureText, liveLine, type TerminalOutput } from './screen';

export function gaugingHands(keys: Keys, say: (text: string) => void): SessionHands {
  return {
    read: async (_task, fixture, over) => {
      await fixture.arm();
      say("    space, or the fixture's button: capture   x: leave this one out   [escape: leave it open]");
      while (!over.aborted) {
        const key = await keys.next(over).catch(() => 'over');
        if (key === 'escape') throw new LeftByTechnician();
        if (key === 'x') return { leftOut: 'left out by the technician' };
        if (key === 'space' || key === 'return') await fixture.capture();
      }
      return undefined;
    },
  };
}

export function gaugingScreen(output: TerminalOutput): SessionScreen & { say(text: string): void } {
  const { line, live } = liveLine(output);
  return {
    say: line,
    task: ({ target, before, step, of }) => line(`${gaugingStepText(target, before)}   [${step} of ${of}]`),
    live,
    captured: (heightMm, capture) => line(captureText(heightMm, capture)),
    notice: (text) => line(`  ! ${text}`),
  };
}
