import { expect, it } from 'vitest';
import { createAsking } from '../../../host/desk/asking';
import { personAt } from '../../../host/desk/person';
import type { ReadTask } from '../../../host/conduct/hands';

const TASK: ReadTask = {
  do: 'read',
  target: { kind: 'master', edge: 'low', when: 'opening' },
  reclamp: true,
  done: 0,
  of: 2,
};

// Found by the random walk at a desk: after a power cut the screen said "waiting for the fixture" for ever.
it('a reading that ended before its hands came to it leaves the question alone that took its place', async () => {
  const asking = createAsking(0, () => {});
  const person = personAt(asking, () => {});
  let armed = 0;
  const fixture = {
    arm: () => {
      armed += 1;
      return Promise.resolve();
    },
    capture: () => Promise.resolve(),
  };
  const late = new AbortController();
  late.abort();
  const now = new AbortController();
  void person.read(TASK, fixture, now.signal);
  await expect.poll(() => asking.current()?.busy).toBeNull();
  await person.read(TASK, fixture, late.signal);
  expect(asking.current()).toMatchObject({ n: 1, busy: null });
  expect(armed).toBe(1);
});
