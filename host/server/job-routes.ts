/** What a screen may do with jobs. Every body is checked against its form before anything is done. */
import type { Hono } from 'hono';
import { setCookie } from 'hono/cookie';
import { z } from 'zod';
import { correctionEvent, correctionSchema } from '../desk/correction';
import { orderSchema } from '../desk/order';
import type { Desk } from '../desk/desk';
import { numberedError } from '../errors/errors';
import { machinesOnShelf } from '../machines/shelf';
import { sheetPdf } from '../report/sheet';
import { sheetView } from '../views/sheet-view';
import { body } from './body';
import { COOKIE } from './guard';
import type { Pairing } from './pairing';

const jobNumber = z.number().int().min(1);
const saidSchema = z.union([
  z.strictObject({ way: z.number().int().min(0) }),
  z.strictObject({ number: z.number() }),
  z.strictObject({ text: z.string().max(2000) }),
]);

export function jobRoutes(app: Hono, desk: Desk): void {
  app.get('/api/machines', (c) => c.json(machinesOnShelf(desk.ledger.path)));
  app.post('/api/job/open', async (c) => c.json({ job: desk.open(await body(c, orderSchema)) }));
  app.post('/api/job/next', async (c) => {
    const { serialNumber } = await body(c, z.strictObject({ serialNumber: z.string().max(200) }));
    return c.json({ job: desk.next(serialNumber) });
  });
  app.post('/api/job/go-on', async (c) => {
    await body(c, z.strictObject({}));
    desk.goOn();
    return c.json({});
  });
  app.post('/api/job/correct', async (c) => {
    const { job, correction } = await body(
      c,
      z.strictObject({ job: jobNumber, correction: correctionSchema }),
    );
    await desk.putRight(job, [correctionEvent(job, correction)]);
    return c.json({});
  });
  app.post('/api/job/resume', async (c) => {
    desk.resume((await body(c, z.strictObject({ job: jobNumber }))).job);
    return c.json({});
  });
  app.post('/api/job/leave', async (c) => {
    await body(c, z.strictObject({}));
    await desk.leave();
    return c.json({});
  });
  app.post('/api/job/answer', async (c) => {
    const { question, said } = await body(
      c,
      z.strictObject({ question: z.number().int(), said: saidSchema }),
    );
    desk.answer(question, said);
    return c.json({});
  });
  app.get('/api/job/:job/sheet.pdf', async (c) => {
    const job = Number(c.req.param('job'));
    const view = Number.isInteger(job) ? sheetView(desk.ledger.events(job)) : undefined;
    if (view === undefined) throw numberedError('no such job', `job ${c.req.param('job')}`);
    return c.body(new Uint8Array(await sheetPdf(view)), 200, {
      'Content-Type': 'application/pdf',
      'Content-Disposition': `attachment; filename="swathplane-job-${job}.pdf"`,
    });
  });
}

/** Takes the pairing code of a screen. */
export function pairRoute(app: Hono, pairing: Pairing): void {
  app.post('/api/pair', async (c) => {
    const { code } = await body(c, z.strictObject({ code: z.string().max(40) }));
    setCookie(c, COOKIE, pairing.pair(code), {
      httpOnly: true,
      sameSite: 'Strict',
      path: '/',
      maxAge: 34_560_000,
    });
    return c.json({});
  });
}
