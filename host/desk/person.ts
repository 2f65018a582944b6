/** A technician at a screen, as the hands of a job: every question goes to the screens and comes back from one of them. */
import type { FixtureInHand, Hands, SaidTo } from '../conduct/hands';
import { NumberedError } from '../errors/errors';
import type { Question } from '../procedure/answer';
import { taskWords } from '../views/task-text';
import { waysToAnswer, waysToRead } from '../views/ways';
import type { Asked, Asking } from './asking';

/** The fixture has turned its laser off by itself: it was armed too long without use. */
const NOT_ARMED = 102;

export function personAt(asking: Asking, notice: (text: string) => void): Hands {
  return {
    answer: async <Q extends Question>(question: Q, offers?: readonly string[]) => {
      const asked = {
        asks: question.do,
        words: taskWords(question) ?? { say: '' },
        ways: waysToAnswer(question, offers),
        live:
          question.do === 'push and pull' || (question.do === 'turn' && question.live?.startMm !== undefined),
      };
      return (await asking.ask(asked)) as SaidTo<Q>;
    },
    read: async (task, fixture, over) => {
      const words = taskWords(task) ?? { say: '' };
      const asked: Asked = { asks: 'read', words, ways: waysToRead(task), live: true };
      const instead = await captureAsked(asking, notice, asked, fixture, over);
      if (instead === 'clamped anew') return instead;
      await untilOver(over);
      return undefined;
    },
    pressed: () => asking.usual(),
  };
}

/**
 * Asks for the capture until it was triggered; what the fixture refuses is said, and asked for again. Gives another answer
 * that was given instead, and undefined otherwise.
 */
export async function captureAsked(
  asking: Asking,
  notice: (text: string) => void,
  asked: Asked,
  fixture: FixtureInHand,
  over: AbortSignal,
): Promise<unknown> {
  // What has ended meanwhile would lie over the question that took its place.
  if (over.aborted) return undefined;
  over.addEventListener('abort', () => asking.clear());
  asking.doing(asked, 'waiting for the fixture');
  await fixture.arm();
  while (!over.aborted) {
    const answer = await asking.ask(asked, over);
    if (answer !== 'capture') return answer;
    asking.doing(asked, 'waiting until it is still');
    try {
      await captureNow(fixture);
      return undefined;
    } catch (error) {
      if (!(error instanceof NumberedError)) throw error;
      notice(error.message);
    }
  }
  return undefined;
}

/** Captures, and arms once more where the laser has turned itself off meanwhile. */
async function captureNow(fixture: FixtureInHand): Promise<void> {
  try {
    await fixture.capture();
  } catch (error) {
    if (!(error instanceof NumberedError) || error.number !== NOT_ARMED) throw error;
    await fixture.arm();
    await fixture.capture();
  }
}

function untilOver(over: AbortSignal): Promise<void> {
  return new Promise((resolve) => {
    if (over.aborted) resolve();
    else over.addEventListener('abort', () => resolve());
  });
}
