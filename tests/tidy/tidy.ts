/** What this project's source never contains: one rule, one reason. Rules for two runtimes are in decision 0003. */
import ts from 'typescript';

/** Sentences about what is untidy in a file, with line numbers. */
export function untidy(file: string, text: string): string[] {
  const found = [...fileRules(file, text)];
  const source = ts.createSourceFile(file, text, ts.ScriptTarget.ES2023, true);
  const twoRuntimes = /^(protocol\/(wire|solver)|firmware\/(app|sensing|drivers|ports))\//.test(file);
  const say = (node: ts.Node, what: string) => {
    found.push(`${file}:${source.getLineAndCharacterOfPosition(node.getStart()).line + 1}: ${what}`);
  };
  const visit = (node: ts.Node): void => {
    if (node.kind === ts.SyntaxKind.AnyKeyword) say(node, 'any');
    if (ts.isExportAssignment(node) && !file.endsWith('.config.ts')) say(node, 'default export');
    if (twoRuntimes) twoRuntimeRules(node, say);
    ts.forEachChild(node, visit);
  };
  visit(source);
  return found;
}

const VAGUE_NAMES = /(^|\/)(utils?|helpers?|misc|common|manager)(\.|\/|$)/;
const LONGEST_FILE = 420;

function fileRules(file: string, text: string): string[] {
  const lines = text.split('\n').length;
  return [
    ...(VAGUE_NAMES.test(file) ? [`${file}: a name that says nothing`] : []),
    ...(lines > LONGEST_FILE ? [`${file}: ${lines} lines, a file is one idea`] : []),
    ...(/\b(TO(DO)|FIX(ME)|XX(X))\b/.test(text) ? [`${file}: unfinished work belongs into an issue`] : []),
  ];
}

const BANNED_GLOBALS = [
  'BigInt',
  'DataView',
  'Float64Array',
  'Uint8Array',
  'Date',
  'process',
  'Buffer',
  'performance',
  'setTimeout',
  'console',
];
const BANNED_MATH = ['hypot', 'random', 'round', 'imul', 'clz32', 'fround', 'trunc'];

/** What gives another answer as Lua, or needs a clock, randomness or a host. */
function twoRuntimeRules(node: ts.Node, say: (node: ts.Node, what: string) => void): void {
  const isMember =
    node.parent !== undefined && ts.isPropertyAccessExpression(node.parent) && node.parent.name === node;
  if (ts.isIdentifier(node) && BANNED_GLOBALS.includes(node.text) && !isMember) {
    say(node, `${node.text} does not exist on the fixture`);
  }
  if (node.kind === ts.SyntaxKind.RegularExpressionLiteral) say(node, 'regular expression');
  if (!ts.isCallExpression(node)) return;
  const { expression } = node;
  if (ts.isPropertyAccessExpression(expression)) {
    if (expression.expression.getText() === 'Math' && BANNED_MATH.includes(expression.name.text))
      say(node, `Math.${expression.name.text}`);
    if (expression.name.text === 'sort' && node.arguments.length === 0) say(node, 'sort without an order');
  } else if (ts.isIdentifier(expression) && expression.text === 'String') {
    say(node, 'String(number) prints differently as Lua');
  }
}
