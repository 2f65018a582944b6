import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { ALLOWED, arrowsOf, forbidden, roomOf, sourceFiles } from './arrows';

const root = join(import.meta.dirname, '../..');
// firmware/*.ts at the top are build scripts, not rooms.
const files = sourceFiles(root, ['protocol', 'firmware', 'host']).filter((f) => f.split('/').length > 2);

it('every import follows the table of rooms', () => {
  expect(files.length).toBeGreaterThan(50);
  expect(forbidden(files.flatMap((file) => arrowsOf(file, readFileSync(join(root, file), 'utf8'))))).toEqual(
    [],
  );
});

it('every room is in the table and every room of the table exists', () => {
  expect([...new Set(files.map(roomOf))].sort()).toEqual(Object.keys(ALLOWED).sort());
});

it('the simulation reaches the solver or the procedure on no path', () => {
  expect(ALLOWED['host/simulation']?.some((room) => /solver|procedure/.test(room))).toBe(false);
});

it('a forbidden arrow is found, also behind a type, a re-export and a dynamic import', () => {
  const sample = [
    "import { solveTips } from '../../protocol/solver';",
    "import type { Task } from '../procedure/task';",
    "export { judge } from '../../protocol/solver/result';",
    "const later = () => import('../procedure/state');",
  ].join('\n');
  expect(forbidden(arrowsOf('host/simulation/shop.ts', sample))).toHaveLength(4);
});
