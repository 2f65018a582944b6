import { describe, expect, it } from 'vitest';
import { createFloor, type Floor } from '../../../host/simulation/floor';
import { PERFECT, POPULATION } from '../../../host/simulation/population';
import { seededRandom } from '../../../host/simulation/random';
import { stand } from '../../../host/simulation/standing';
import { SPECIMEN } from './specimen';

const HERE = { xMm: 0, yMm: 0, headingRad: 0 };

describe('the floor', () => {
  it('has the sd and the correlation it is asked for', () => {
    const population = { ...PERFECT, floorSdMm: 2, floorCorrelationMm: 800 };
    const lagsMm = [0, 400, 800, 1600];
    const floors = 6000;
    const products = lagsMm.map(() => 0);
    for (let seed = 0; seed < floors; seed++) {
      const floor = createFloor(seededRandom(seed), population);
      const atStart = floor.heightMm(300, -200);
      // Lags along a direction of no special kind.
      lagsMm.forEach((lag, i) => {
        products[i] += atStart * floor.heightMm(300 + 0.6 * lag, -200 + 0.8 * lag);
      });
    }
    const covariance = products.map((sum) => sum / floors);
    // Four standard errors of a variance and of a correlation from 6000 floors.
    expect(Math.sqrt(covariance[0])).toBeGreaterThan(2 * (1 - 0.04));
    expect(Math.sqrt(covariance[0])).toBeLessThan(2 * (1 + 0.04));
    lagsMm.forEach((lag, i) => {
      const expected = Math.exp(-((lag / 800) ** 2) / 2);
      expect(Math.abs(covariance[i] / covariance[0] - expected)).toBeLessThan(0.06);
    });
  });

  it('shows the same texture at the same spot, of the sd asked for', () => {
    const floor = createFloor(seededRandom(5), { ...PERFECT, textureSdMm: 0.15 });
    let sumOfSquares = 0;
    const side = 100;
    for (let i = 0; i < side; i++) {
      for (let j = 0; j < side; j++) sumOfSquares += floor.textureMm(11.3 * i, 13.7 * j - 500) ** 2;
    }
    expect(Math.sqrt(sumOfSquares) / side).toBeGreaterThan(0.14);
    expect(Math.sqrt(sumOfSquares) / side).toBeLessThan(0.16);
    const again = createFloor(seededRandom(5), { ...PERFECT, textureSdMm: 0.15 });
    expect(again.textureMm(123.4, 56.7)).toBe(floor.textureMm(123.4, 56.7));
    expect(floor.textureMm(123.4, 56.7)).not.toBe(floor.textureMm(143.4, 56.7));
  });

  it('has shiny patches when asked', () => {
    const floor = createFloor(seededRandom(5), { ...POPULATION, glarePatchesPerM2: 10 });
    let shiny = 0;
    for (let i = 0; i < 10_000; i++) {
      if (floor.speckleMm((i % 100) * 20 - 1000, Math.floor(i / 100) * 20 - 1000) > 0.5) shiny++;
    }
    // Ten discs of mean area pi (55² + 50² / 12) mm² on a square metre cover about 9 %.
    expect(shiny / 10_000).toBeGreaterThan(0.04);
    expect(shiny / 10_000).toBeLessThan(0.15);
  });
});

describe('a machine on its wheels', () => {
  const standOn = (groundPlane: typeof SPECIMEN.groundPlane, heightMm: Floor['heightMm']) =>
    stand(
      { ...SPECIMEN, groundPlane },
      { heightMm, textureMm: () => 0, plateRiseMm: () => 0, speckleMm: () => 0 },
      HERE,
    );

  it('with a pivoting axle takes the middle of the front pair', () => {
    // By hand: front wheels +6 and -2, so their middle is +2 on a wheelbase of 1300 mm; rear wheels at 0.
    const { chassis, ground } = standOn('pivoting front axle', (x, y) => (x < 650 ? 0 : y > 0 ? 6 : -2));
    expect(ground).toEqual(chassis);
    expect(ground.slopeX).toBeCloseTo(2 / 1300, 12);
    expect(ground.slopeY).toBeCloseTo(0, 12);
  });

  it('with four rigid wheels stands on three of them', () => {
    // By hand: the front left is 4 mm high; weight on the centreline behind the middle, so the front right is in the air
    // and the chassis goes through rear left, rear right and front left. The ground plane takes all four alike.
    const { chassis, ground } = standOn('rigid four wheels', (x, y) => (x > 650 && y > 0 ? 4 : 0));
    expect(chassis.z0Mm).toBeCloseTo(0, 9);
    expect(chassis.slopeX).toBeCloseTo(4 / 1300, 12);
    expect(chassis.slopeY).toBeCloseTo(0, 12);
    expect(ground.slopeX).toBeCloseTo(2 / 1300, 9);
  });
});
