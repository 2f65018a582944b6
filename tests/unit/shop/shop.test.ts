import { describe, expect, it } from 'vitest';
import { captureDirectly, drawFixture } from '../../../host/simulation/direct-capture';
import { PERFECT } from '../../../host/simulation/population';
import { seededRandom } from '../../../host/simulation/random';
import { createShop, type Shop, type ShopOptions } from '../../../host/simulation/shop';
import type { Scene } from '../../../host/simulation/world';
import { BODY, SPECIMEN } from './specimen';

const perfect = (options: Partial<ShopOptions> = {}) =>
  createShop({ ...PERFECT, seed: 1, profile: SPECIMEN, body: BODY, ...options });

/** Height of the edge above the laser spot: h = n·e - d (n·u), trigonometry of a tilted fixture. */
function heightMm(scene: Scene): number {
  const { edgeMm, beam } = BODY[scene.headPosition];
  const dot = (v: readonly number[]) => scene.forceG.reduce((sum, force, i) => sum + force * v[i], 0);
  return dot(edgeMm) - scene.distanceMm! * dot(beam);
}

function read(shop: Shop, spindle: string, end: 'A' | 'B', headingDeg: number): number {
  shop.technician.clampOn(spindle, end);
  shop.technician.turnBladeTo(headingDeg);
  return heightMm(shop.settledScene());
}

const sd = (values: readonly number[]) => {
  const mean = values.reduce((sum, v) => sum + v, 0) / values.length;
  return Math.sqrt(values.reduce((sum, v) => sum + (v - mean) ** 2, 0) / (values.length - 1));
};

describe('the simulated shop', () => {
  it('is on target when nothing is wrong', () => {
    const shop = perfect();
    expect(shop.trueMeasureMm('level')).toBeCloseTo(0, 4);
    expect(shop.trueMeasureMm('rake')).toBeCloseTo(6, 4);
    expect(shop.trueMeasureMm('cut height')).toBeCloseTo(76, 4);
  });

  it('gives readings that are exactly the true tip height, and half the bend on top', () => {
    // Everything about the machine may be wrong, and the fixture may be tilted; floor and hands are perfect.
    const shop = perfect({
      hangerErrorSdMm: 5,
      spindleHeightSdMm: 1,
      spindleTiltSd: 0.005,
      bendSdMm: 1,
      fixtureTiltSdDeg: 3,
      parkingSdMm: 20,
      parkingHeadingSdDeg: 1,
      faults: [{ kind: 'bent shaft', spindle: 'left', differenceMm: 3 }],
    });
    for (const spindle of ['left', 'centre', 'right']) {
      for (const headingDeg of [90, -90, 0, 137]) {
        const half = shop.trueBendMm(spindle) / 2;
        const circle = shop.trueTipHeightMm(spindle, headingDeg);
        expect(read(shop, spindle, 'A', headingDeg)).toBeCloseTo(circle + half, 7);
        expect(read(shop, spindle, 'B', headingDeg)).toBeCloseTo(circle - half, 7);
      }
    }
  });

  it('turns coupled blades together, each at its own offset, geared ones the other way', () => {
    const offsets = [0, 90, -45];
    const rotations = ['clockwise', 'clockwise', 'counter-clockwise'] as const;
    const profile = {
      ...SPECIMEN,
      timedDeck: true,
      spindles: SPECIMEN.spindles.map((s, i) => ({
        ...s,
        timedOffsetDeg: offsets[i],
        rotation: rotations[i],
      })),
    };
    const shop = perfect({ profile, hangerErrorSdMm: 10 });
    const leftAsItIs = (spindle: string) => {
      shop.technician.clampOn(spindle, 'A');
      return heightMm(shop.settledScene());
    };
    for (const headingDeg of [30, -100, 170]) {
      read(shop, 'left', 'A', headingDeg);
      expect(leftAsItIs('centre')).toBeCloseTo(shop.trueTipHeightMm('centre', headingDeg + 90), 7);
      expect(leftAsItIs('right')).toBeCloseTo(shop.trueTipHeightMm('right', -45 - headingDeg), 7);
    }
  });

  it.each(['pivoting front axle', 'rigid four wheels'] as const)(
    'counts heights from the ground under the wheels, not from the floor under the spot: %s',
    (groundPlane) => {
      const profile = { ...SPECIMEN, groundPlane };
      const shop = perfect({
        profile,
        parkingSdMm: 20,
        parkingHeadingSdDeg: 60,
        floorSdMm: 2,
        floorCorrelationMm: 700,
        floorSlopeSd: 0.003,
        hangerErrorSdMm: 5,
      });
      const { edgeMm, beam } = BODY[shop.settledScene().headPosition];
      let largest = 0;
      for (const spindle of SPECIMEN.spindles) {
        for (const headingDeg of [90, 200, 0]) {
          const reading = read(shop, spindle.name, 'A', headingDeg);
          // The spot as seen from above, of a fixture that is level: back by the edge's offset, on by the beam's lean.
          const distanceMm = shop.settledScene().distanceMm!;
          const inward = distanceMm * beam[0] - edgeMm[0];
          const aside = distanceMm * beam[1] - edgeMm[1];
          const cos = Math.cos((headingDeg * Math.PI) / 180);
          const sin = Math.sin((headingDeg * Math.PI) / 180);
          const tip = {
            xMm: spindle.xMm + spindle.tipRadiusMm * cos,
            yMm: spindle.yMm + spindle.tipRadiusMm * sin,
          };
          const spot = {
            xMm: tip.xMm - inward * cos + aside * sin,
            yMm: tip.yMm - inward * sin - aside * cos,
          };
          const floorMm = shop.floorAboveGroundMm(spot, tip);
          largest = Math.max(largest, Math.abs(floorMm));
          // The deck slopes by some mm per m, which leaves the spot a few mm from there on a floor that slopes as much.
          const trueMm = shop.trueTipHeightMm(spindle.name, headingDeg);
          expect(Math.abs(reading + floorMm - trueMm)).toBeLessThan(0.02);
        }
      }
      expect(largest).toBeGreaterThan(0.5);
    },
  );

  it('leans the fixture with the deck, whichever way the machine stands in the bay', () => {
    const shop = perfect({ hangerErrorSdMm: 5, parkingHeadingSdDeg: 60 });
    const { slopeX, slopeY } = shop.truePlane();
    for (const headingDeg of [90, 30, -140]) {
      read(shop, 'left', 'A', headingDeg);
      // From the tip to the hub the blade rises as the deck does in that direction, and x lies along it.
      const heading = (headingDeg * Math.PI) / 180;
      const rise = -(slopeX * Math.cos(heading) + slopeY * Math.sin(heading));
      expect(shop.settledScene().forceG[0]).toBeCloseTo(rise / Math.sqrt(1 + rise * rise), 9);
      expect(shop.settledScene().forceG[2]).toBeCloseTo(1 / Math.sqrt(1 + slopeX ** 2 + slopeY ** 2), 9);
    }
  });

  it('is the same to the bit for the same seed, and another for another', () => {
    const visit = (seed: number) => {
      const shop = createShop({ seed, profile: SPECIMEN, body: BODY });
      const scenes: Scene[] = [];
      shop.technician.clampOn('left', 'A');
      shop.technician.turnBladeTo(90);
      for (let ms = 0; ms < 35_000; ms += 250) scenes.push(shop.sceneAt(ms * 1000));
      shop.technician.turn('rear left', 1.5);
      shop.technician.seatDeck();
      return { scenes, settled: shop.settledScene(), truth: shop.truePlane(), hangers: shop.hangerState() };
    };
    expect(visit(7)).toEqual(visit(7));
    expect(visit(7).settled).not.toEqual(visit(8).settled);
  });

  it('spreads as widely as it is told', () => {
    const shop = perfect({ placementSdMm: 0.25 });
    const placed = Array.from({ length: 800 }, () => read(shop, 'left', 'A', 90));
    expect(sd(placed)).toBeGreaterThan(0.25 * 0.9);
    expect(sd(placed)).toBeLessThan(0.25 * 1.1);

    const seatedShop = perfect({ seatingHeightSdMm: 0.15, seatingSlopeSd: 0.0003 });
    seatedShop.technician.clampOn('left', 'A');
    seatedShop.technician.turnBladeTo(90);
    const seated = Array.from({ length: 800 }, () => {
      seatedShop.technician.seatDeck();
      return heightMm(seatedShop.settledScene());
    });
    // The tip is (-30, 595) mm from the centre of gravity: the height and two slopes add as squares.
    const expected = Math.sqrt(0.15 ** 2 + (0.0003 * 30) ** 2 + (0.0003 * 595) ** 2);
    expect(sd(seated)).toBeGreaterThan(expected * 0.9);
    expect(sd(seated)).toBeLessThan(expected * 1.1);
    expect(seatedShop.trueTipHeightMm('left', 90)).toBe(perfect().trueTipHeightMm('left', 90));

    const errors = Array.from({ length: 300 }, (_, seed) =>
      perfect({ seed, hangerErrorSdMm: 5 })
        .hangerState()
        .map((h, i) => h.heightMm - perfect().hangerState()[i].heightMm),
    ).flat();
    expect(sd(errors)).toBeGreaterThan(5 * 0.92);
    expect(sd(errors)).toBeLessThan(5 * 1.08);
  });

  it('refits a blade: its bend goes round, the shaft keeps its own', () => {
    const at = (kind: 'bent blade' | 'bent shaft') => {
      const shop = perfect({ faults: [{ kind, spindle: 'centre', differenceMm: 4 }] });
      const before = shop.trueBendMm('centre');
      shop.technician.refitBladeHalfTurn('centre');
      return [before, shop.trueBendMm('centre')];
    };
    expect(at('bent blade')).toEqual([4, 4]);
    expect(at('bent shaft')).toEqual([4, -4]);
  });
});

describe('adjusters', () => {
  const height = (shop: Shop, name: string) => shop.hangerState().find((h) => h.name === name)!.heightMm;

  it('have true ratios about the nominal ones', () => {
    const ratios = Array.from({ length: 600 }, (_, seed) =>
      perfect({ seed, ratioSd: 0.03 }).trueMmPerTurn('rear left', 'rear left'),
    );
    expect(sd(ratios)).toBeGreaterThan(2 * 0.03 * 0.88);
    expect(sd(ratios)).toBeLessThan(2 * 0.03 * 1.12);
    const shop = perfect({ ratioSd: 0.1 });
    const before = height(shop, 'rear left');
    shop.technician.turn('rear left', 2);
    expect(height(shop, 'rear left') - before).toBeCloseTo(
      2 * shop.trueMmPerTurn('rear left', 'rear left'),
      9,
    );
  });

  it('take up their play before they move the other way', () => {
    const shop = perfect({ backlashTurns: 0.1 });
    const turnBy = (turns: number) => {
      const before = height(shop, 'front left');
      shop.technician.turn('front left', turns);
      return height(shop, 'front left') - before;
    };
    turnBy(1);
    expect(turnBy(1)).toBeCloseTo(2, 9);
    expect(turnBy(-0.05)).toBe(0);
    expect(turnBy(-1)).toBeCloseTo(-2 * 0.95, 9);
    expect(turnBy(-1)).toBeCloseTo(-2, 9);
    expect(turnBy(0.6)).toBeCloseTo(2 * 0.5, 9);
  });

  it('stop where their travel ends', () => {
    const shop = perfect();
    shop.technician.turn('front left', 10);
    shop.technician.turn('front left', 10);
    expect(shop.technician.lastTurns).toBeCloseTo(2, 9);
  });

  it('can be taken up by feel until a slack hanger carries', () => {
    const shop = perfect({ hangerErrorSdMm: 5, feelSdMm: 0.05, backlashTurns: 0.05 });
    const slack = shop.hangerState().find((h) => h.slackMm > 1)!;
    expect(shop.technician.feel(slack.name)).toBe('slack');
    shop.technician.takeUpByFeel(slack.name);
    expect(shop.technician.feel(slack.name)).toBe('carrying');
    expect(Math.max(...shop.hangerState().map((h) => h.slackMm))).toBeLessThan(0.4);
  });
});

describe('what the technician does over time', () => {
  it('carries, turns as the gyro feels it, and is still afterwards', () => {
    const shop = perfect({ headingSdDeg: 5 });
    const clampMs = shop.technician.clampOn('left', 'A');
    const before = shop.hold.where === 'blade' ? shop.hold.headingDeg : NaN;
    const turnMs = shop.technician.turnBladeTo(90);
    const after = shop.hold.where === 'blade' ? shop.hold.headingDeg : NaN;
    expect(shop.elapsedMs).toBe(clampMs + turnMs);

    expect(shop.sceneAt(clampMs * 500).distanceMm).toBeUndefined();
    let turnedDeg = 0;
    const seen = new Set<number | undefined>();
    for (let ms = clampMs; ms < clampMs + turnMs; ms++) {
      const { turnRateDegS, forceG, distanceMm } = shop.sceneAt((ms + 0.5) * 1000);
      turnedDeg += turnRateDegS.reduce((sum, rate, i) => sum + rate * forceG[i], 0) * 1e-3;
      seen.add(distanceMm);
    }
    expect(seen.size).toBeGreaterThan(turnMs / 2);
    // Tremor tilts the axis while the blade turns, so the sum is good to a part of a degree.
    expect(Math.abs(((turnedDeg - (after - before) + 540) % 360) - 180)).toBeLessThan(0.5);

    const ringing = shop.sceneAt((clampMs + turnMs + 100) * 1000);
    const still = shop.sceneAt((clampMs + turnMs + 3000) * 1000);
    expect(ringing.distanceMm).not.toBe(still.distanceMm);
    expect(shop.sceneAt((clampMs + turnMs + 60_000) * 1000)).toEqual(still);
    expect(still.turnRateDegS).toEqual([0, 0, 0]);
    expect(still).toEqual(shop.settledScene());
  });

  it('holds the button for 0.3 s', () => {
    const shop = perfect();
    shop.technician.press();
    const down = Array.from({ length: 1000 }, (_, ms) => shop.sceneAt(ms * 1000).buttonDown);
    expect(down.filter(Boolean).length).toBe(300);
  });

  it('shows the deck following a nut, and a slack hanger not being followed', () => {
    const shop = perfect();
    shop.technician.clampOn('left', 'A');
    shop.technician.turnBladeTo(90);
    const before = heightMm(shop.settledScene());
    shop.technician.turn('rear left', 1);
    const after = heightMm(shop.settledScene());
    // By hand: with the rear left 2 mm high the diagonal from there to the front right carries; the weight (590, 15) lies
    // on the front-left side of it, so the front left carries too and the rear right hangs 2 mm free. The deck turns
    // about the front pair, 900 mm ahead, and the tip at x = 560 rises by 340 / 600 of the 2 mm.
    expect(after - before).toBeCloseTo((2 * 340) / 600, 6);
    expect(shop.hangerState().map((hanger) => hanger.slackMm.toFixed(6))).toEqual([
      '0.000000',
      '0.000000',
      '0.000000',
      '2.000000',
    ]);
    shop.technician.turn('rear right', -1);
    expect(heightMm(shop.settledScene())).toBeCloseTo(after, 9);
  });

  it('reads the height master as its edge says', () => {
    const shop = perfect({ masterTiltSdDeg: 0.3 });
    for (const position of [0, 1] as const) {
      shop.technician.pinHead(position);
      for (const edge of ['low', 'high'] as const) {
        shop.technician.putOnMaster(edge);
        expect(heightMm(shop.settledScene())).toBeCloseTo(shop.population.masterEdgesMm[position][edge], 9);
      }
    }
  });

  it('now and then clamps the wrong tip', () => {
    const shop = perfect({ wrongTipProbability: 0.2 });
    let wrong = 0;
    for (let i = 0; i < 1000; i++) {
      shop.technician.clampOn('left', 'A');
      const { hold } = shop;
      if (hold.where !== 'blade' || hold.spindle !== 0 || hold.end !== 'A') wrong++;
    }
    expect(wrong).toBeGreaterThan(140);
    expect(wrong).toBeLessThan(260);
  });
});

describe('campaigns', () => {
  it('do a job of 24 readings in less than 2 ms', () => {
    const random = seededRandom(1);
    const millis: number[] = [];
    for (let seed = 0; seed < 300; seed++) {
      const start = performance.now();
      const shop = createShop({ seed, profile: SPECIMEN, body: BODY });
      const fixture = drawFixture(random);
      for (let i = 0; i < 24; i++) {
        shop.technician.clampOn(SPECIMEN.spindles[i % 3].name, i % 2 === 0 ? 'A' : 'B');
        shop.technician.turnBladeTo(15 * i);
        expect(captureDirectly(shop, fixture, 64, random)).toBeDefined();
      }
      millis.push(performance.now() - start);
    }
    const median = millis.sort((a, b) => a - b)[150];
    console.log(`simulated job of 24 readings: ${median.toFixed(3)} ms median`);
    expect(median).toBeLessThan(2);
  });

  it('draw neighbouring seeds independently', () => {
    const first = Array.from({ length: 5000 }, (_, seed) => seededRandom(seed).split('x').uniform());
    const mean = first.reduce((sum, u) => sum + u, 0) / first.length;
    expect(Math.abs(mean - 0.5)).toBeLessThan(0.02);
    expect(sd(first)).toBeGreaterThan(0.28);
    const neighbours = first.slice(1).reduce((sum, u, i) => sum + (u - 0.5) * (first[i] - 0.5), 0);
    expect(Math.abs(neighbours / first.length / (1 / 12))).toBeLessThan(0.06);
    const plain = Array.from({ length: 5000 }, (_, seed) => seededRandom(seed).uniform());
    expect(Math.min(...plain)).toBeLessThan(0.01);
  });
});
