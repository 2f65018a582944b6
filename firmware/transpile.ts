/** From TypeScript to Lua: the one way in which the build, the simulation and the tests get their Lua. */
import { existsSync } from 'node:fs';
import { basename, dirname, join, resolve } from 'node:path';
import { fileURLToPath } from 'node:url';
import * as tstl from 'typescript-to-lua';
import * as ts from 'typescript';

/** The folder of this project, found from this file's place or from the place that a build put it in. */
export const PROJECT_ROOT = rootAbove(dirname(fileURLToPath(import.meta.url)));

const CONFIG_FILE = join(PROJECT_ROOT, 'firmware/tsconfig.json');

/**
 * Transpiles `entryFile` and everything that it imports into one Lua 5.4 chunk, which returns the entry module's exports
 * as a table. The same source always gives the same text, wherever the repository lies.
 *
 * @throws Error with the compiler's text when the source does not compile.
 */
export function transpile(entryFile: string): string {
  const entry = resolve(entryFile);
  const config = tstl.parseConfigFileWithSystem(CONFIG_FILE, {
    luaBundle: 'bundle.lua',
    luaBundleEntry: entry,
  });
  refuseErrors(config.errors);

  // The output is caught in memory, so `noEmit` of the shared configuration must not apply.
  const options: tstl.CompilerOptions = {
    ...config.options,
    noEmit: false,
    luaPlugins: [{ plugin: ONLY_WHAT_RUNS }],
  };
  const chunks: string[] = [];
  const { diagnostics } = tstl.transpileFiles([entry], options, (_file, text) => chunks.push(text));
  refuseErrors(diagnostics);

  const [chunk, ...rest] = chunks;
  if (chunk === undefined || rest.length > 0)
    throw new Error(`${entryFile}: expected one Lua chunk, got ${chunks.length}`);
  return chunk;
}

/**
 * What the tables of the protocol say to people and to hosts, by the file that has it. The fixture has no use for it, and
 * it would take a quarter of its heap.
 */
const PROSE: Readonly<Record<string, readonly string[]>> = {
  'messages.ts': ['meaning', 'unit', 'from', 'kind', 'since', 'frozen'],
  'codes.ts': ['meaning'],
  'errors.ts': ['cause', 'nextStep'],
};

/**
 * Leaves out what the board has no use for: prose, imports of types, which would load modules for nothing, and the classes
 * of errors; `throw new Error(text)` becomes an error that is this text.
 */
const ONLY_WHAT_RUNS: tstl.Plugin = {
  visitors: {
    [ts.SyntaxKind.ImportDeclaration]: (node, context) =>
      node.importClause?.phaseModifier === ts.SyntaxKind.TypeKeyword
        ? undefined
        : context.superTransformStatements(node),
    [ts.SyntaxKind.ThrowStatement]: (node, context) => {
      const text = textOfError(node.expression);
      if (text === undefined) return context.superTransformStatements(node);
      const textAlone = [context.transformExpression(text), tstl.createNumericLiteral(0)];
      return tstl.createExpressionStatement(
        tstl.createCallExpression(tstl.createIdentifier('error'), textAlone, node),
      );
    },
    [ts.SyntaxKind.ObjectLiteralExpression]: (node, context) => {
      const prose = PROSE[basename(context.sourceFile.fileName)] ?? [];
      const kept = node.properties.filter(({ name }) => !(name && prose.includes(name.getText())));
      if (kept.length === node.properties.length) return context.superTransformExpression(node);
      return context.superTransformExpression(ts.factory.updateObjectLiteralExpression(node, kept));
    },
  },
};

function textOfError(thrown: ts.Expression): ts.Expression | undefined {
  if (!ts.isNewExpression(thrown) || !ts.isIdentifier(thrown.expression)) return undefined;
  return thrown.expression.text === 'Error' ? thrown.arguments?.[0] : undefined;
}

function rootAbove(folder: string): string {
  if (existsSync(join(folder, 'firmware/tsconfig.json'))) return folder;
  if (dirname(folder) === folder) throw new Error('firmware/tsconfig.json: not found in any folder above');
  return rootAbove(dirname(folder));
}

function refuseErrors(diagnostics: readonly ts.Diagnostic[]): void {
  const errors = diagnostics.filter((d) => d.category === ts.DiagnosticCategory.Error);
  if (errors.length === 0) return;
  throw new Error(
    ts.formatDiagnostics(errors, {
      getCanonicalFileName: (name) => name,
      getCurrentDirectory: () => PROJECT_ROOT,
      getNewLine: () => '\n',
    }),
  );
}
