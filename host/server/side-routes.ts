/** What the pages beside the job show and change: machines, records, the bay's floor, the instruments. */
import type { Hono } from 'hono';
import { z } from 'zod';
import { baysInLog } from '../conduct/bay-in-log';
import { calibrationsInLog, historiesInLog, placementInLog, registerInLog } from '../conduct/gauging-in-log';
import { historyInLog } from '../conduct/history-in-log';
import { recordOf } from '../conduct/record-in-log';
import { today } from '../conduct/today';
import type { Desk } from '../desk/desk';
import { sessionOrderSchema } from '../desk/sessions';
import { numberedError } from '../errors/errors';
import { draftMachine } from '../machines/draft';
import type { JobQuery } from '../ledger/job-index';
import { machineFromTape, tapeSchema } from '../machines/from-tape';
import { parseProfile } from '../machines/load';
import type { MachineProfile } from '../machines/profile';
import { plainName } from '../machines/plain-name';
import { machinesOnShelf, putOnShelf } from '../machines/shelf';
import { calibrationPdf } from '../report/calibration-record';
import { recordPdf } from '../report/record';
import { recordJson } from '../report/record-json';
import { bayState } from '../views/bay-state';
import { calibrationView } from '../views/calibration-view';
import { deckPlan } from '../views/deck-plan';
import { historyPart } from '../views/history-part';
import { instrumentsState } from '../views/fixture-state';
import type { MachineDraft } from '../views/machine-draft';
import { recordPart, type RecordEntry } from '../views/record-part';
import { sheetView } from '../views/sheet-view';
import { body } from './body';

export function sideRoutes(app: Hono, desk: Desk): void {
  machineRoutes(app, desk);
  recordRoutes(app, desk);
  sessionRoutes(app, desk);
  app.get('/api/bays', (c) => c.json(baysInLog(desk.ledger, today()).map((of) => bayState(of))));
  app.get('/api/instruments', (c) =>
    c.json(
      instrumentsState({
        register: registerInLog(desk.ledger),
        histories: historiesInLog(desk.ledger),
        calibrations: calibrationsInLog(desk.ledger),
        placement: placementInLog(desk.ledger),
        on: today(),
      }),
    ),
  );
}

/** Whatever was typed so far is a draft, whether it can be a machine or not. */
const draftSchema = z.strictObject(
  Object.fromEntries(Object.keys(tapeSchema.shape).map((field) => [field, z.unknown().optional()])),
);

function machineRoutes(app: Hono, { ledger }: Desk): void {
  app.post('/api/machines/draft', async (c) => {
    const { profile, ...draft } = draftMachine(await body(c, draftSchema));
    const plan = profile === undefined ? null : deckPlan(profile);
    return c.json({ ...draft, plan } satisfies MachineDraft);
  });
  app.post('/api/machines', async (c) => {
    const profile = machineFromTape(await body(c, tapeSchema), 'what was typed');
    putOnShelf(ledger.path, profile);
    return c.json({ model: profile.model });
  });
  app.post('/api/machines/import', async (c) => {
    const { text, name } = await body(c, z.strictObject({ text: z.string(), name: z.string().max(200) }));
    const profile = parseProfile(text, name);
    putOnShelf(ledger.path, profile);
    return c.json({ model: profile.model });
  });
  app.get('/api/machines/:model', (c) => {
    const profile = onShelf(ledger.path, c.req.param('model'));
    return c.json({ profile, plan: deckPlan(profile) });
  });
  app.get('/api/machines/:model/profile.json', (c) => {
    const profile = onShelf(ledger.path, c.req.param('model'));
    const name = encodeURIComponent(plainName(profile.model));
    return c.body(`${JSON.stringify(profile, undefined, 2)}\n`, 200, {
      'Content-Type': 'application/json',
      'Content-Disposition': `attachment; filename*=UTF-8''${name}.json`,
    });
  });
}

/** Throws 305. */
function onShelf(log: string, model: string): MachineProfile {
  const found = machinesOnShelf(log).find((m) => m.model === model);
  if (found === undefined) throw numberedError('no such machine', `'${model}'`);
  return found;
}

const historySchema = z.strictObject({
  of: z.enum(['serial number', 'model', 'technician', 'fixture']),
  name: z.string().min(1).max(200),
});

const MOST_RECORDS = 200;
/** Each is solved again, so that what is drawn is what the log says. */
const MOST_IN_HISTORY = 60;
const LONGEST_QUERY = 200;

function recordRoutes(app: Hono, { ledger }: Desk): void {
  app.get('/api/records', (c) => {
    const { text, from, to } = c.req.query();
    const query: JobQuery = {
      ...(text === undefined ? {} : { text: text.slice(0, LONGEST_QUERY) }),
      ...(from === undefined ? {} : { from }),
      ...(to === undefined ? {} : { to }),
      limit: MOST_RECORDS,
    };
    return c.json(ledger.search(query) satisfies readonly RecordEntry[]);
  });
  app.get('/api/records/:job', (c) => {
    const job = Number(c.req.param('job'));
    const view = Number.isInteger(job) ? sheetView(ledger.events(job)) : undefined;
    if (view === undefined) throw numberedError('no such job', `job ${c.req.param('job')}`);
    return c.json(recordPart(view));
  });
  app.get('/api/history', (c) => {
    const asked = historySchema.safeParse(c.req.query());
    if (!asked.success)
      throw numberedError('request not understood', 'a history is of one thing, by its name');
    const { of, name } = asked.data;
    return c.json(historyPart(historyInLog(ledger, of, name, MOST_IN_HISTORY)));
  });
  app.get('/api/job/:job/record.pdf', async (c) => {
    const job = Number(c.req.param('job'));
    const bytes = await recordPdf(recordOf(ledger, job));
    return c.body(new Uint8Array(bytes), 200, {
      'Content-Type': 'application/pdf',
      'Content-Disposition': `attachment; filename="swathplane-job-${job}-record.pdf"`,
    });
  });
  app.get('/api/job/:job/record.json', (c) => {
    const job = Number(c.req.param('job'));
    return c.body(`${JSON.stringify(recordJson(recordOf(ledger, job)), undefined, 1)}\n`, 200, {
      'Content-Type': 'application/json',
      'Content-Disposition': `attachment; filename="swathplane-job-${job}-record.json"`,
    });
  });
}

function sessionRoutes(app: Hono, { sessions, ledger }: Desk): void {
  app.get('/api/calibrations/:session/record.pdf', async (c) => {
    const session = Number(c.req.param('session'));
    const written = calibrationsInLog(ledger).find((w) => w.session === session);
    if (written === undefined) throw numberedError('no such session', `calibration ${session}`);
    const bytes = await calibrationPdf(calibrationView(session, written.record));
    return c.body(new Uint8Array(bytes), 200, {
      'Content-Type': 'application/pdf',
      'Content-Disposition': `attachment; filename="swathplane-calibration-${session}.pdf"`,
    });
  });
  const nothing = z.strictObject({});
  app.post('/api/session/begin', async (c) => {
    sessions.begin(await body(c, sessionOrderSchema));
    return c.json({});
  });
  app.post('/api/session/go-on', async (c) => {
    await body(c, nothing);
    sessions.goOn();
    return c.json({});
  });
  app.post('/api/session/accept', async (c) => {
    await body(c, nothing);
    sessions.accept();
    return c.json({});
  });
  app.post('/api/session/leave', async (c) => {
    await body(c, nothing);
    await sessions.leave();
    return c.json({});
  });
}
