/** The image on the emulated microcontroller, and the real link talking to it over the emulated USB. */
import { describe, expect, it } from 'vitest';
import { captureHeightUm } from '../../protocol/solver/capture-height';
import type { Body } from '../../protocol/wire';
import { TABLE_HASH } from '../../protocol/wire';
import { CANNOT_RUN, ORDER, named, until, workbench } from './workbench';

describe.skipIf(CANNOT_RUN !== undefined)(
  named('the image on the emulated board'),
  { timeout: 600_000 },
  () => {
    it('is a fixture over USB: identifies itself, tests itself, captures, and the host has the same height to the bit', async () => {
      const bench = await workbench();
      const { fixture } = bench;
      await bench.within(until(() => fixture.device !== undefined));
      expect(fixture.laserLit).toBe(0);
      expect(fixture.device!.texts).toEqual(['Swathplane', 'Swathplane fixture', 'SWP-0000000000000000']);

      const live: Body<'live'>[] = [];
      const link = await bench.link({ listeners: { live: (body) => live.push(body) } });
      expect(link.identity()).toEqual({
        protocolMajor: 1,
        protocolMinor: 0,
        tableHash: TABLE_HASH,
        numberBits: 64,
        bootCount: 2,
        firmwareVersion: '0.1.0',
        board: 'RP2040',
        fixtureId: 'SWP-0000000000000000',
      });
      expect(link.warning()).toBeUndefined();
      expect(await bench.within(link.request('self-test', {}))).toMatchObject({ tested: 31, failed: 0 });

      await bench.within(link.request('arm', ORDER));
      await bench.run(200);
      expect(fixture.laserOn).toBe(true);
      await bench.within(link.request('capture', {}));
      await bench.within(until(() => bench.captures.length === 1));
      const moved = {
        ...bench.scene,
        headPosition: 1 as const,
        distanceMm: 113.3,
        forceG: [0.05, -0.03, Math.sqrt(1 - 0.0034)] as const,
      };
      bench.scene = { ...moved, turnRateDegS: [20, 0, 0] };
      await bench.run(150);
      bench.scene = { ...moved, buttonDown: true };
      await bench.run(100);
      bench.scene = { ...bench.scene, buttonDown: false };
      await bench.within(until(() => bench.captures.length === 2));
      expect(bench.captures.map((c) => [c.capture, c.job, c.step, c.trigger, c.headPosition])).toEqual([
        [1, 12, 3, 0, 0],
        [2, 12, 3, 1, 1],
      ]);
      for (const capture of bench.captures) {
        const calibration = await bench.within(
          link.request('read-calibration', { headPosition: capture.headPosition }),
        );
        expect(captureHeightUm(calibration, capture)).toEqual({
          distanceUm: capture.distance,
          heightUm: capture.height,
          inRange: true,
        });
      }
      // The link acknowledged both, so the fixture keeps neither.
      expect(await bench.within(link.request('report-status', {}))).toMatchObject({
        unacknowledged: 0,
        faults: 0,
      });
      await bench.within(link.request('disarm', {}));
      expect(fixture.laserOn).toBe(false);
      expect(live.length).toBeGreaterThan(10);
      await bench.within(link.close());
      expect(fixture.complaints).toEqual([]);
      expect(fixture.resets).toEqual([]);
    });
  },
);
