import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { expect, test } from 'vitest';
import { transpile } from '../../firmware/transpile';

function transpileSource(source: string): string {
  const folder = mkdtempSync(join(tmpdir(), 'transpile-'));
  try {
    const file = join(folder, 'entry.ts');
    writeFileSync(file, source);
    return transpile(file);
  } finally {
    rmSync(folder, { recursive: true });
  }
}

test("source with a type error gives no Lua but the compiler's words and place", () => {
  expect(() => transpileSource('export const height: number = "high";')).toThrow(
    /entry\.ts\(1,14\).*TS2322/s,
  );
});

test('what Lua cannot do is refused as well', () => {
  expect(() => transpileSource('export const digits = (s: string) => /[0-9]+/.test(s);')).toThrow(
    /entry\.ts\(1,/,
  );
});

test('the chunk does not tell where the repository lies', () => {
  const chunk = transpile('protocol/wire/index.ts');
  expect(chunk).not.toContain(process.cwd());
  expect(chunk).toContain('["protocol.wire.index"]');
});
