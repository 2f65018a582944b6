/**
 * Puts the tables of the code into `protocol/SPEC.md`. From the top of the repository:
 * `node host/run.mjs tests/unit/wire/update-spec.ts`.
 */
import { readFileSync, writeFileSync } from 'node:fs';
import { withTables } from './spec-tables';

const FILE = 'protocol/SPEC.md';
const before = readFileSync(FILE, 'utf8');
const after = withTables(before);
writeFileSync(FILE, after);
console.log(after === before ? `${FILE}: tables are up to date` : `${FILE}: tables updated`);
