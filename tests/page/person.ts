/** A person at a screen: works a job by touch alone, or by keys alone, and never knows more than the screen shows. */
import type { Locator, Page } from 'playwright-core';

export type By = 'touch' | 'keys';

export interface Step {
  readonly asks: string;
  readonly task: string;
}

/** Before each answer; it may look, and may answer in place of the person. */
export type Looks = (step: Step, question: Locator) => Promise<void | 'answered'>;

const MOST_STEPS = 400;

/** Opens a job from the empty form. */
export async function begin(
  page: Page,
  by: By,
  { use, model, serial }: { readonly use: string; readonly model: string; readonly serial: string },
): Promise<void> {
  await page.getByRole('heading', { name: 'New job' }).waitFor();
  const radios = [page.getByRole('radio', { name: use }), page.getByRole('radio', { name: model })];
  await radios[1]?.waitFor();
  if (by === 'touch') {
    for (const radio of radios) await radio.tap();
    await page.getByLabel('Serial number').tap();
    await page.keyboard.type(serial);
    await page.getByRole('button', { name: 'Begin' }).tap();
    return;
  }
  for (const radio of radios) await tabTo(page, radio);
  await tabTo(page, page.getByLabel('Serial number'));
  // As a scanner types: the number and Enter, which goes on to the next field; the last one begins the job.
  await page.keyboard.type(`${serial}\n`);
  for (const word of ['ORDER-1', 'Ola Invented', '']) await page.keyboard.type(`${word}\n`);
}

/** Tabs on until it is there; a radio is chosen by arrows, as a browser has it. */
async function tabTo(page: Page, wanted: Locator): Promise<void> {
  const name = await wanted.evaluate(
    (element) => (element as unknown as { name: string; type: string }).type,
  );
  for (let i = 0; i < 80; i += 1) {
    if (await has(wanted)) break;
    const sameGroup =
      name === 'radio' &&
      (await wanted.evaluate(
        (e) =>
          (e as unknown as { name: string; ownerDocument: { activeElement: { name: string } } }).ownerDocument
            .activeElement.name === (e as unknown as { name: string }).name,
      ));
    await page.keyboard.press(sameGroup ? 'ArrowDown' : 'Tab');
  }
  if (!(await has(wanted))) throw new Error('the keys do not get there');
  if (name === 'radio' && !(await wanted.isChecked())) await page.keyboard.press('Space');
}

function has(wanted: Locator): Promise<boolean> {
  return wanted.evaluate(
    (e) => (e as unknown as { ownerDocument: { activeElement: unknown } }).ownerDocument.activeElement === e,
  );
}

/** Answers what is asked until the job is closed; gives what was asked. */
export async function workThrough(
  page: Page,
  by: By,
  looks: Looks = () => Promise.resolve(),
): Promise<Step[]> {
  const steps: Step[] = [];
  for (let before = ''; steps.length < MOST_STEPS;) {
    const next = page.locator(`.question[data-ready="true"]:not([data-n="${before}"]), h1.closed`).first();
    await next.waitFor({ timeout: 45_000 });
    const n = await next.getAttribute('data-n');
    if (n === null) return steps;
    before = n;
    const question = page.locator(`.question[data-n="${n}"]`);
    const step = {
      asks: (await question.getAttribute('data-asks')) ?? '',
      task: await question.locator('h1').innerText(),
    };
    steps.push(step);
    if ((await looks(step, question)) === 'answered') continue;
    await answer(page, by, question);
  }
  throw new Error(`no end after ${MOST_STEPS} questions`);
}

/** The usual answer; where there is none something is typed, or the first is chosen. */
async function answer(page: Page, by: By, question: Locator): Promise<void> {
  const main = question.locator('.choices button.main');
  const field = question.locator('.typing input');
  if ((await main.count()) > 0) return by === 'touch' ? main.tap() : page.keyboard.press('Space');
  if ((await field.count()) > 0) {
    const first = question.locator('.choices button').first();
    const isNumber = (await field.getAttribute('inputmode')) === 'none';
    if (isNumber && (await first.count()) > 0)
      return by === 'touch' ? first.tap() : page.keyboard.press(await first.locator('kbd').innerText());
    if (by === 'touch') {
      await field.tap();
      await field.fill(isNumber ? '72,5' : 'as found (invented)');
      return question.getByRole('button', { name: 'Enter' }).tap();
    }
    if (!isNumber && !(await has(field))) await page.keyboard.press('t');
    return page.keyboard.type(`${isNumber ? '72,5' : 'as found (invented)'}\n`);
  }
  const first = question.locator('.choices button').first();
  return by === 'touch' ? first.tap() : page.keyboard.press(await first.locator('kbd').innerText());
}
