/** The built command line as its user meets it: what it prints, its exit codes, its numbered errors. */
import { spawnSync } from 'node:child_process';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { loadProfile } from '../../../host/machines/load';

const root = join(import.meta.dirname, '../../..');
const folder = mkdtempSync(join(tmpdir(), 'swathplane-'));

function swathplane(...args: string[]) {
  const run = spawnSync(process.execPath, [join(root, 'build/host/swathplane.js'), ...args], {
    cwd: folder,
    encoding: 'utf8',
  });
  return { code: run.status, out: run.stdout, err: run.stderr };
}

function fileWith(name: string, content: unknown): string {
  const file = join(folder, name);
  writeFileSync(file, typeof content === 'string' ? content : JSON.stringify(content));
  return file;
}

/** Readings on the three-spindle machine whose tips lie on a plane that is known: z = z0 + a x + b y. */
function readingsOnPlane(z0: number, a: number, b: number) {
  const { spindles } = loadProfile('quellbeck-133');
  let placement = 0;
  return spindles.flatMap((s) =>
    (['A', 'B'] as const).flatMap((end) => {
      placement += 1;
      return [0, 90, 180, -90].map((headingDeg) => {
        const heading = (headingDeg * Math.PI) / 180;
        const x = s.xMm + s.tipRadiusMm * Math.cos(heading);
        const y = s.yMm + s.tipRadiusMm * Math.sin(heading);
        return {
          spindle: s.name,
          headingDeg,
          end,
          seating: 1,
          placement,
          heightMm: z0 + a * x + b * y,
          standardErrorMm: 0.02,
        };
      });
    }),
  );
}

describe('solve', () => {
  it('names the part at fault, the measure that turning cannot mend, and what would tell parts apart', () => {
    const bent = readingsOnPlane(80, -0.01, 0).map((r) => ({
      ...r,
      heightMm: r.heightMm + (r.spindle === 'left' ? (r.end === 'A' ? 3.5 : -3.5) : 0),
    }));
    const file = fileWith('bent.json', { machine: 'quellbeck-133', readings: bent });
    const solved = JSON.parse(swathplane('solve', '--json', file).out) as {
      cannotMend: string[];
      faults: { rows: { parts: string; status: string; tests: string[] }[] };
    };
    expect(solved.cannotMend).toEqual(['bend left']);
    expect(solved.faults.rows).toHaveLength(1);
    expect(solved.faults.rows[0]).toMatchObject({
      parts: 'left blade bent, or left shaft bent or its hub face dirty',
      status: 'beyond its limit',
    });
    const { out, code } = swathplane('solve', file);
    expect(code).toBe(1);
    expect(out).toContain('At fault: left blade bent');
    expect(out).toContain('Turning cannot mend bend left');
    expect(out).toContain('never straighten it');
  });

  it('finds the plane that the readings lie on, and says what to turn', () => {
    const [z0, a, b] = [80, -0.01, 0.004];
    const run = swathplane(
      'solve',
      '--json',
      fileWith('plane.json', { machine: 'quellbeck-133', readings: readingsOnPlane(z0, a, b) }),
    );
    const solved = JSON.parse(run.out) as {
      plane: { z0Mm: number; slopeX: number; slopeY: number };
      measures: { name: string; valueMm: number; standardUncertaintyMm: number }[];
      turning: { turns: number[]; after: { name: string; valueMm: number }[] };
    };
    // The plane is what went in; floor and placement only widen it.
    expect(solved.plane.z0Mm).toBeCloseTo(z0, 1);
    expect(solved.plane.slopeX).toBeCloseTo(a, 4);
    expect(solved.plane.slopeY).toBeCloseTo(b, 4);
    const profile = loadProfile('quellbeck-133');
    for (const declared of profile.measures) {
      const measure = solved.measures.find((m) => m.name === declared.name);
      if (declared.what === 'bend') expect(measure?.valueMm).toBeCloseTo(0, 3);
      else {
        const after = solved.turning.after.find((m) => m.name === declared.name)?.valueMm;
        expect(after).toBeGreaterThan(declared.lowerMm);
        expect(after).toBeLessThan(declared.upperMm);
      }
    }
    // Whole flats of a hexagon.
    for (const turns of solved.turning.turns)
      expect(Math.abs(6 * turns - Math.round(6 * turns))).toBeLessThan(1e-9);
    expect([1, 2]).toContain(run.code);
  });

  it.each([
    ['not JSON', 'a line', 351],
    [
      'a reading without height',
      {
        machine: 'quellbeck-133',
        readings: [
          { spindle: 'left', headingDeg: 0, end: 'A', seating: 1, placement: 1, standardErrorMm: 0.1 },
        ],
      },
      351,
    ],
    ['a spindle that the machine lacks', { machine: 'pimwick-76', readings: readingsOnPlane(80, 0, 0) }, 351],
    [
      'a hanger that the machine lacks',
      { machine: 'quellbeck-133', carrying: ['middle'], readings: readingsOnPlane(80, 0, 0) },
      351,
    ],
    ['a machine that nobody knows', { machine: 'nobody', readings: readingsOnPlane(80, 0, 0) }, 305],
    [
      'readings on one line',
      { machine: 'quellbeck-133', readings: readingsOnPlane(80, 0, 0).slice(0, 1) },
      352,
    ],
  ])('%s: a numbered error', (_, content, number) => {
    const run = swathplane('solve', fileWith('bad.json', content));
    expect(run.code).toBe(3);
    expect(run.err).toMatch(new RegExp(`^E${number}: .+\n {2}Next: .+`));
  });
});

describe('words on the line', () => {
  it.each([
    [['frob'], 403],
    [['demo', '--seed', 'x'], 403],
    [['job'], 403],
    [['sheet', 'first'], 403],
    [['solve', 'missing.json'], 405],
    [['records', '--log', 'missing'], 405],
    [['machines', 'nobody'], 305],
    [['job', '--machine', 'pimwick-76', '--port', '/dev/none-such'], 201],
    [['fixture', '--port', '/dev/none-such'], 201],
  ])('%j: E%i', (args, number) => {
    const run = swathplane(...args);
    expect(run.code).toBe(3);
    expect(run.err).toContain(`E${number}: `);
    const json = JSON.parse(swathplane(...args, '--json').out) as {
      error: { number: number; nextStep: string };
    };
    expect(json.error).toMatchObject({ number });
    expect(json.error.nextStep).not.toBe('');
  });

  it('every command explains itself', () => {
    for (const command of ['demo', 'job', 'records', 'sheet', 'solve', 'fixture', 'machines']) {
      const run = swathplane(command, '--help');
      expect(run.code).toBe(0);
      expect(run.out).toContain(`swathplane ${command}`);
    }
  });
});

describe('the demo', () => {
  it('levels a machine, writes record and sheet, and both can be read again', { timeout: 120_000 }, () => {
    const demo = JSON.parse(
      swathplane('demo', '--json', '--seed', '7', '--machine', 'pimwick-76', '--folder', 'd').out,
    ) as {
      job: number;
      decision: string;
      log: string;
      sheet: string;
      comparison: { solvedMm: number; expandedMm: number; trueMm: number }[];
    };
    expect(demo.decision).toBe('pass');
    for (const { solvedMm, expandedMm, trueMm } of demo.comparison)
      expect(Math.abs(solvedMm - trueMm)).toBeLessThan(1.5 * expandedMm);
    expect(swathplane('records', '--verify', '--log', demo.log)).toMatchObject({ code: 0 });
    const shown = swathplane('records', `${demo.job}`, '--log', demo.log).out;
    expect(shown).toContain('SIMULATED SHOP');
    // The morning's daily check and the calibration's day are on the record.
    expect(shown).toMatch(/height master HM-1 \(invented\); daily check of [\d-]+: in control/);
    expect(shown).toMatch(/its calibration was set on \d{4}-\d\d-\d\d/);
    expect(swathplane('records', '9', '--log', demo.log).err).toContain('E256');
    const again = swathplane('sheet', `${demo.job}`, '--log', demo.log, '--to', 'again.pdf');
    expect(again.code).toBe(0);
    // Same record, same bytes.
    expect(readFileSync(join(folder, 'again.pdf')).equals(readFileSync(join(folder, demo.sheet)))).toBe(true);
  });
});

describe('machines new', () => {
  const words =
    '--family walk-behind --blades 1 --blade-length 510 --wheelbase 640 --front-track 470 --rear-track 490 --cut-height 60';

  it('writes a profile that the other commands take, and never over one that is there', () => {
    const made = swathplane('machines', 'new', 'Shed 51', ...words.split(' '));
    expect(made.code).toBe(0);
    expect(made.out).toContain(
      'level: -3 to 3 mm (shop limit): + centre pointing left − centre pointing right',
    );
    const shown = JSON.parse(swathplane('machines', 'shed-51.json').out) as { uncertaintyMm: object };
    expect(shown.uncertaintyMm).toEqual({ spindleMm: 10, tipRadiusMm: 5, wheelMm: 10, hangerMm: 80 });
    expect(swathplane('sequence', '--machine', 'shed-51.json').code).toBe(0);
    const again = swathplane('machines', 'new', 'Shed 51', ...words.split(' '));
    expect([again.code, again.err]).toEqual([3, expect.stringMatching(/E263.*shed-51\.json/)]);
  });

  it('takes a file of dimensions, prints its schema, and refuses with a number and what is wanted', () => {
    const file = fileWith('dimensions.json', {
      model: 'Shed 76',
      family: 'mid-mount hung',
      blades: 1,
      bladeLengthMm: 760,
      wheelbaseMm: 1150,
      frontTrackMm: 0,
      rearTrackMm: 660,
      rotation: 'clockwise',
      cutHeightMm: 65,
    });
    const made = JSON.parse(swathplane('machines', 'new', '--from', file, '--json').out) as {
      profile: { groundPlane: string };
    };
    expect(made.profile.groundPlane).toBe('three wheels');
    const schema = swathplane('machines', 'new', '--schema').out;
    expect(JSON.parse(schema)).toHaveProperty('properties.bladeLengthMm');
    const bare = swathplane('machines', 'new', 'X', '--blades', '3');
    expect([bare.code, bare.err]).toEqual([3, expect.stringContaining('E306')]);
    expect(swathplane('machines', 'new').err).toContain('E403');
  });
});
