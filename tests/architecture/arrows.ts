/** Reads the imports of every source file and says which arrows between rooms the table does not allow. */
import { readdirSync } from 'node:fs';
import { builtinModules } from 'node:module';
import { dirname, join, normalize, relative } from 'node:path';
import ts from 'typescript';

export interface Arrow {
  readonly file: string;
  readonly from: string;
  readonly to: string;
  readonly typeOnly: boolean;
}

/** Room -> rooms that it may import. `types:` allows only `import type`. The table of ARCHITECTURE in DEVELOPERS.md. */
export const ALLOWED: Readonly<Record<string, readonly string[]>> = {
  'protocol/wire': [],
  'protocol/solver': [],
  'firmware/ports': [],
  'firmware/drivers': ['firmware/ports', 'types:protocol/wire'],
  'firmware/sensing': ['protocol/solver', 'firmware/ports', 'firmware/drivers', 'protocol/wire'],
  'firmware/app': [
    'protocol/wire',
    'protocol/solver',
    'firmware/sensing',
    'firmware/drivers',
    'firmware/ports',
  ],
  'firmware/boards': ['firmware/app', 'firmware/ports'],
  'host/errors': ['protocol/wire'],
  'host/link': ['protocol/wire', 'host/errors'],
  'host/machines': ['host/errors', 'types:protocol/solver'],
  'host/bay': ['host/errors', 'host/gauging', 'types:host/machines', 'protocol/solver'],
  'host/ledger': [
    'host/errors',
    'types:protocol/wire',
    'types:host/machines',
    'types:host/bay',
    'types:host/gauging',
  ],
  'host/copies': ['host/errors', 'host/ledger'],
  'host/gauging': ['protocol/solver', 'host/errors', 'types:host/ledger', 'types:protocol/wire'],
  'host/procedure': [
    'protocol/solver',
    'types:protocol/wire',
    'host/bay',
    'host/gauging',
    'host/errors',
    'types:host/ledger',
    'types:host/machines',
  ],
  'host/conduct': [
    'types:host/bay',
    'host/procedure',
    'host/views',
    'host/link',
    'host/ledger',
    'host/machines',
    'host/gauging',
    'host/errors',
    'protocol/solver',
    'protocol/wire',
  ],
  'host/views': [
    'host/procedure',
    'host/bay',
    'host/gauging',
    'types:host/ledger',
    'types:host/machines',
    'types:protocol/solver',
    'protocol/wire',
  ],
  'host/desk': [
    'host/conduct',
    'host/views',
    'host/procedure',
    'host/ledger',
    'host/link',
    'host/machines',
    'host/errors',
    'host/gauging',
    'types:protocol/wire',
  ],
  'host/server': [
    'host/desk',
    'host/conduct',
    'host/views',
    'host/report',
    'host/machines',
    'host/errors',
    'types:host/ledger',
  ],
  // It runs in a browser: of the host it knows what a view looks like, and nothing else.
  'host/page': ['types:host/views', 'types:host/machines', 'types:host/ledger'],
  'host/terminal': [
    'host/views',
    'types:protocol/wire',
    'types:host/conduct',
    'types:host/procedure',
    'types:host/ledger',
    'types:host/machines',
  ],
  'host/report': ['host/views', 'types:host/ledger', 'types:host/machines'],
  'host/simulation': ['protocol/wire', 'types:host/machines', 'types:firmware/ports'],
  'host/cli': ['host/*', 'protocol/wire', 'protocol/solver'],
};

export function sourceFiles(root: string, folders: readonly string[]): string[] {
  return folders.flatMap((folder) =>
    readdirSync(join(root, folder), { recursive: true, withFileTypes: true })
      .filter((entry) => entry.isFile() && /\.tsx?$/.test(entry.name) && !entry.name.endsWith('.d.ts'))
      .map((entry) => relative(root, join(entry.parentPath, entry.name))),
  );
}

/** The room of a file: the first two folders of its path. */
export function roomOf(file: string): string {
  return file.split('/').slice(0, 2).join('/');
}

/** Imports from one room into another, or into a package (`npm:name`, `node:name`). */
export function arrowsOf(file: string, text: string): Arrow[] {
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.ES2023, true);
  const arrows: Arrow[] = [];
  const add = (specifier: string, typeOnly: boolean) => {
    const to = specifier.startsWith('.')
      ? roomOf(normalize(join(dirname(file), specifier)))
      : specifier.startsWith('node:') || builtinModules.includes(specifier)
        ? 'node:'
        : `npm:${specifier}`;
    if (to !== roomOf(file)) arrows.push({ file, from: roomOf(file), to, typeOnly });
  };
  const visit = (node: ts.Node): void => {
    if (ts.isImportDeclaration(node) && ts.isStringLiteral(node.moduleSpecifier)) {
      add(node.moduleSpecifier.text, onlyTypes(node));
    } else if (
      ts.isExportDeclaration(node) &&
      node.moduleSpecifier !== undefined &&
      ts.isStringLiteral(node.moduleSpecifier)
    ) {
      add(node.moduleSpecifier.text, node.isTypeOnly);
    } else if (ts.isCallExpression(node) && node.expression.kind === ts.SyntaxKind.ImportKeyword) {
      const argument = node.arguments[0];
      if (argument !== undefined && ts.isStringLiteral(argument)) add(argument.text, false);
    }
    ts.forEachChild(node, visit);
  };
  visit(source);
  return arrows;
}

function onlyTypes(node: ts.ImportDeclaration): boolean {
  const clause = node.importClause;
  if (clause === undefined) return false;
  if (clause.isTypeOnly) return true;
  const names = clause.namedBindings;
  return (
    clause.name === undefined &&
    names !== undefined &&
    ts.isNamedImports(names) &&
    names.elements.every((e) => e.isTypeOnly)
  );
}

/** The arrows that the table forbids, said in words. */
export function forbidden(arrows: readonly Arrow[]): string[] {
  return arrows
    .filter((arrow) => !isAllowed(arrow))
    .map((a) => `${a.file}: ${a.from} may not import ${a.to}${a.typeOnly ? ' (types)' : ''}`);
}

const PURE = [
  'protocol/wire',
  'protocol/solver',
  'firmware/',
  'host/procedure',
  'host/views',
  'host/gauging',
  'host/errors',
];

function isAllowed(arrow: Arrow): boolean {
  if (arrow.to === 'node:' && arrow.from === 'host/page') return false;
  if (arrow.to === 'node:' || arrow.to.startsWith('npm:')) {
    const pure = PURE.some((room) => arrow.from.startsWith(room));
    return !pure;
  }
  const table = ALLOWED[arrow.from];
  if (table === undefined) return false;
  return table.some((allowed) => {
    if (allowed === arrow.to) return true;
    if (allowed.endsWith('/*') && arrow.to.startsWith(allowed.slice(0, -1))) return true;
    return arrow.typeOnly && allowed === `types:${arrow.to}`;
  });
}
