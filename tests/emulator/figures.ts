/**
 * Figures of the image in emulated time: `node host/run.mjs tests/emulator/figures.ts`. The flash costs no waiting in the
 * emulator, so a real board is slower by what its cache misses cost; its UART sends in no time there.
 */
import { figureLine, measureImage } from './measure';

for (const figure of await measureImage()) console.log(figureLine(figure));
