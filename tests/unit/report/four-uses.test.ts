/**
 * Sheet and full record of a real job of each use, as the command line writes them: read back with poppler, checked
 * against the published schema with ajv. What a record must hold is in issue 7's list and in job.md.
 */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { Ajv2020 } from 'ajv/dist/2020';
import { beforeAll, describe, expect, it } from 'vitest';
import { CAUTIONS } from '../../../host/procedure/cautions';
import { recordJsonSchema, type RecordJson } from '../../../host/report/record-json';
import { greyPage, NO_POPPLER, pdfInfo, pdfStructure, pdfTexts, withPoppler } from '../../poppler';
import { expectClean } from './clean-pages';
import { rawText, readPages, textOf } from './read-pdf';

const root = join(import.meta.dirname, '../../..');
const folder = mkdtempSync(join(tmpdir(), 'swathplane-record-'));
const schema = JSON.parse(readFileSync(join(root, 'host/report/record.schema.json'), 'utf8')) as object;
const validate = new Ajv2020({ strict: true, strictTypes: false, allErrors: true }).compile(schema);

function swathplane(...args: string[]): unknown {
  const { status, stdout, stderr } = spawnSync(
    process.execPath,
    [join(root, 'build/host/swathplane.js'), ...args, '--json'],
    { cwd: folder, encoding: 'utf8' },
  );
  if (status !== 0) throw new Error(stderr + stdout);
  return JSON.parse(stdout);
}

describe.each(['inspection', 'levelling', 'diagnosis', 'warranty'])('a job of %s', (use) => {
  let log: string;
  let sheet: string;
  let pdf: string;
  let record: RecordJson;

  beforeAll(() => {
    ({ log, sheet } = swathplane('demo', '--use', use, '--folder', use) as { log: string; sheet: string });
    [log, sheet] = [join(folder, log), join(folder, sheet)];
    pdf = join(folder, `${use}.pdf`);
    const written = swathplane('record', '1', '--log', log, '--to', pdf) as { json: string };
    record = JSON.parse(readFileSync(written.json, 'utf8')) as RecordJson;
  });

  it('has a JSON record that its published schema takes', () => {
    expect(validate(record), JSON.stringify(validate.errors)).toBe(true);
    expect(record.use).toBe(use);
    expect(record.readings.length).toBeGreaterThan(5);
    expect(record.budgets.length).toBeGreaterThan(0);
  });

  it('gives the same bytes again, PDF and JSON', () => {
    const again = join(folder, `${use}-again.pdf`);
    const { json } = swathplane('record', '1', '--log', log, '--to', again) as { json: string };
    expect(readFileSync(again).equals(readFileSync(pdf))).toBe(true);
    expect(readFileSync(json, 'utf8')).toBe(readFileSync(pdf.replace('.pdf', '.json'), 'utf8'));
  });

  it('keeps inside its pages, with no text on another', () => {
    expectClean(readPages(readFileSync(pdf)));
    expectClean(readPages(readFileSync(sheet)));
  });

  it('says everything by shape and word, nothing by colour alone', () => {
    // One hue, for headings and rules; WCAG 2.1, 1.4.3 asks 4.5 to 1 of text, and its grey has to keep that.
    const inks = [...rawText(readFileSync(pdf)).matchAll(/\n([\d.]+) ([\d.]+) ([\d.]+) (?:scn|SCN)\n/g)];
    const hues = new Set(inks.filter(([, r, g, b]) => r !== g || g !== b).map(([, ...rgb]) => rgb.join(' ')));
    expect(hues.size).toBe(1);
    for (const hue of hues) expect(contrastWithWhite(hue.split(' ').map(Number))).toBeGreaterThan(4.5);
  });

  describe.skipIf(NO_POPPLER)(withPoppler('read with poppler'), () => {
    it('the delivery sheet is one page, the record has as many as it says; both tagged', () => {
      expect(pdfInfo(sheet)).toMatchObject({ Pages: '1', Tagged: 'yes' });
      const info = pdfInfo(pdf);
      expect(info['Tagged']).toBe('yes');
      expect(info['Title']).toContain('full record');
      const texts = pdfTexts(pdf);
      expect(texts).toHaveLength(Number(info['Pages']));
      texts.forEach((t, i) => expect(t).toContain(`page ${i + 1} of ${texts.length}`));
      for (const file of [sheet, pdf]) expect(rawText(readFileSync(file))).toContain('/Lang (en-GB)');
    });

    it('the text holds the whole record', () => {
      const text = pdfTexts(pdf).join(' ').replace(/\s+/g, ' ');
      const holds = (said: string) => expect(text).toContain(said.replace(/\s+/g, ' '));
      for (const { field, text: stated } of record.claim) holds(`${field}: ${stated.slice(0, 40)}`);
      for (const r of record.readings) holds(r.heightMm.toFixed(3));
      for (const i of record.instruments) {
        holds(`Fixture ${i.fixtureId}`);
        holds(i.master.name);
        for (const c of i.calibrations)
          holds(`Calibration ${c.version} of the ${c.head} head, written on ${c.on}`);
      }
      for (const p of record.parts) holds(p.slice(0, 60));
      for (const said of [record.seal.proves, record.seal.provesNot]) holds(said.slice(0, 60));
      holds(record.seal.short);
      holds(record.seal.key?.signature.slice(64) ?? 'no signature');
      for (const caution of CAUTIONS) holds(caution.slice(0, 60));
      holds(record.head.hash);
      holds(record.rule.slice(0, 60));
      holds('Preparation');
      holds('Uncertainty budget, as it came');
      holds('in all:');
    });

    it('its structure tells headings, tables and figures apart, in reading order', () => {
      const elements = pdfStructure(pdf).flatMap(
        (line) => /^\s*(H1|H2|H3|Table|TR|TH|TD|Figure)\b/.exec(line)?.[1] ?? [],
      );
      expect(elements[0]).toBe('H1');
      expect(elements.filter((e) => e === 'H1')).toHaveLength(1);
      expect(elements.filter((e) => e === 'H2').length).toBeGreaterThanOrEqual(5);
      expect(elements.filter((e) => e === 'TR').length).toBeGreaterThan(record.readings.length);
      expect(elements).toContain('Figure');
    });

    it('a grey print is legible: ink on every page, and text no paler than a grey that can be read', () => {
      for (let page = 1; page <= Number(pdfInfo(pdf)['Pages']); page += 1) {
        const { pixels, width, height } = greyPage(pdf, page, 40);
        const dark = pixels.reduce((sum, p) => sum + (p < 140 ? 1 : 0), 0) / (width * height);
        expect(dark).toBeGreaterThan(0.003);
        expect(dark).toBeLessThan(0.25);
      }
    });
  });

  it('the first page of the record is the page of the sheet', () => {
    const first = (file: string) => textOf(readPages(readFileSync(file))[0] ?? { runs: [], paths: [] });
    const plain = (text: string) =>
      text.replace(/(delivery sheet|full record)/, '').replace(/page 1 of \d+$/, '');
    expect(plain(first(pdf))).toBe(plain(first(sheet)));
  });

  it('the schema refuses a record that is broken in any field', () => {
    for (const broken of brokenRecords(record)) expect(validate(broken.record), broken.how).toBe(false);
  });
});

it('the published schema is the one that the tool prints', () => {
  expect(schema).toEqual(JSON.parse(JSON.stringify(recordJsonSchema())));
});

/** Each required field taken out, each given a value of another kind, a field too many, numbers and texts out of range. */
function* brokenRecords(record: RecordJson): Generator<{ how: string; record: unknown }> {
  const optional = ['closedAt', 'cautionsConfirmedAt', 'decision'];
  for (const key of Object.keys(record)) {
    const { [key as keyof RecordJson]: _, ...without } = record;
    if (!optional.includes(key)) yield { how: `without ${key}`, record: without };
    yield { how: `${key} of another kind`, record: { ...record, [key]: null } };
  }
  const [first, ...readings] = record.readings;
  yield { how: 'a field too many', record: { ...record, extra: 1 } };
  yield { how: 'another format', record: { ...record, format: 'another 1.0' } };
  yield { how: 'a time that is none', record: { ...record, openedAt: 'yesterday' } };
  yield { how: 'a hash too short', record: { ...record, head: { ...record.head, hash: 'ab' } } };
  yield { how: 'job 0', record: { ...record, job: 0 } };
  yield {
    how: 'a height as text',
    record: { ...record, readings: [{ ...first, heightMm: '35' }, ...readings] },
  };
  yield {
    how: 'a reading by hearsay',
    record: { ...record, readings: [{ ...first, by: 'hearsay' }, ...readings] },
  };
  const [stage, ...stages] = record.stages;
  yield {
    how: 'a probability of 2',
    record: { ...record, stages: [{ ...stage, jointProbability: 2 }, ...stages] },
  };
  yield {
    how: 'a result of ours',
    record: { ...record, stages: [{ ...stage, decision: 'fine' }, ...stages] },
  };
}

/** WCAG 2.1, relative luminance. */
function contrastWithWhite(rgb: readonly number[]): number {
  const [r = 0, g = 0, b = 0] = rgb.map((c) => (c <= 0.03928 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4));
  return 1.05 / (0.2126 * r + 0.7152 * g + 0.0722 * b + 0.05);
}
