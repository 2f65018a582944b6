import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { expect, it } from 'vitest';
import { sourceFiles } from '../architecture/arrows';
import { untidy } from './tidy';

const root = join(import.meta.dirname, '../..');

it('every source file is tidy', () => {
  const files = sourceFiles(root, ['protocol', 'firmware', 'host', 'tests']);
  expect(files.flatMap((file) => untidy(file, readFileSync(join(root, file), 'utf8')))).toEqual([]);
});

it('what is untidy is found', () => {
  const sample =
    'export default 1; const a: any = Math.hypot(1, 2); [3, 1].sort(); String(4); Date.now(); /x/.test("x");';
  expect(untidy('protocol/solver/sample.ts', sample)).toHaveLength(7);
  expect(untidy('host/views/utils.ts', `// ${'TO'}DO later`)).toHaveLength(2);
});
