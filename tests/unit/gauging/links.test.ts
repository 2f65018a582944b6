/** The hardware notes: every link leads somewhere, every note and drawing is reached from the index. */
import { readdirSync, readFileSync } from 'node:fs';
import { expect, test } from 'vitest';

const folder = new URL('../../../hardware-notes/', import.meta.url);
const files = readdirSync(folder).filter((name) => /\.(md|svg)$/.test(name));
const linksOf = (name: string) =>
  [...readFileSync(new URL(name, folder), 'utf8').matchAll(/\]\(([^)#:]+)\)/g)].map(([, link = '']) => link);

test.each(files.filter((name) => name.endsWith('.md')))('%s links to what exists', (name) => {
  const there = new Set([...files, ...readdirSync(folder)]);
  expect(linksOf(name).filter((link) => !there.has(link))).toEqual([]);
});

test('the index names every note and drawing', () => {
  const index = new Set(linksOf('README.md'));
  expect(files.filter((name) => name !== 'README.md' && !index.has(name))).toEqual([]);
});
