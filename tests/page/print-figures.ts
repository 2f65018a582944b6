import { figureLines } from './figures';

for (const line of await figureLines()) console.log(line);
