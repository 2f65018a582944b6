/** From TypeScript to Lua: the one way in which the build, the simulation and the tests get their Lua. */
import { dirname, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as tstl from 'typescript-to-lua';
import * as ts from 'typescript';

const CONFIG_FILE = fileURLToPath(new URL('./tsconfig.json', import.meta.url));

/**
 * Transpiles `entryFile` and everything that it imports into one Lua 5.4 chunk, which returns the entry module's exports
 * as a table. The same source always gives the same text, wherever the repository lies.
 *
 * @throws Error with the compiler's text when the source does not compile.
 */
export function transpile(entryFile: string): string {
  const entry = resolve(entryFile);
  const config = tstl.parseConfigFileWithSystem(CONFIG_FILE, { luaBundle: 'bundle.lua', luaBundleEntry: entry });
  refuseErrors(config.errors);

  // The output is caught in memory, so `noEmit` of the shared configuration must not apply.
  const options = { ...config.options, noEmit: false };
  const chunks: string[] = [];
  const { diagnostics } = tstl.transpileFiles([entry], options, (_file, text) => chunks.push(text));
  refuseErrors(diagnostics);

  const [chunk, ...rest] = chunks;
  if (chunk === undefined || rest.length > 0) throw new Error(`${entryFile}: expected one Lua chunk, got ${chunks.length}`);
  return chunk;
}

function refuseErrors(diagnostics: readonly ts.Diagnostic[]): void {
  const errors = diagnostics.filter((d) => d.category === ts.DiagnosticCategory.Error);
  if (errors.length === 0) return;
  const root = dirname(dirname(CONFIG_FILE));
  throw new Error(
    ts.formatDiagnostics(errors, {
      getCanonicalFileName: (name) => name,
      getCurrentDirectory: () => root,
      getNewLine: () => '\n',
    }),
  );
}
