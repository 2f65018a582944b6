/** Reads a PDF with programs that are not ours (Debian's poppler-utils). With CI=true they must be there. */
import { spawnSync } from 'node:child_process';

const there = ['pdftotext', 'pdfinfo', 'pdftoppm'].every(
  (name) => spawnSync(name, ['-v'], { stdio: 'ignore' }).error === undefined,
);
/** Whether tests that need them have to be skipped. */
export const NO_POPPLER = !there && process.env['CI'] !== 'true';
/** Name of a suite, with the way to enable it where it is skipped. */
export const withPoppler = (name: string): string =>
  NO_POPPLER ? `${name} (needs poppler-utils: bash .ci/debian.sh)` : name;

function run(program: string, args: readonly string[], input?: Uint8Array): Buffer {
  const { status, stdout, stderr } = spawnSync(program, args, { input, maxBuffer: 1 << 28 });
  if (status !== 0) throw new Error(`${program}: ${stderr.toString()}`);
  return stdout;
}

/** The text of each page, as it stands on it. */
export function pdfTexts(file: string): string[] {
  return run('pdftotext', ['-layout', '-enc', 'UTF-8', file, '-']).toString('utf8').split('\f').slice(0, -1);
}

export function pdfInfo(file: string): Readonly<Record<string, string>> {
  const lines = run('pdfinfo', [file]).toString('utf8').split('\n');
  return Object.fromEntries(lines.flatMap((l) => (l.includes(':') ? [split(l)] : [])));
}

/** The structure tree with its texts, one element on a line, indented by depth. */
export function pdfStructure(file: string): string[] {
  return run('pdfinfo', ['-struct-text', file]).toString('utf8').split('\n');
}

/** A page in shades of grey, 0 black to 255 white. */
export function greyPage(file: string, page: number, dpi: number) {
  const image = run('pdftoppm', ['-gray', '-r', `${dpi}`, '-f', `${page}`, '-l', `${page}`, file]);
  const [, width, height] = /^P5\n(\d+) (\d+)\n255\n/.exec(image.toString('latin1', 0, 40)) ?? [];
  const pixels = image.subarray(image.length - Number(width) * Number(height));
  return { width: Number(width), height: Number(height), pixels };
}

function split(line: string): [string, string] {
  const at = line.indexOf(':');
  return [line.slice(0, at), line.slice(at + 1).trim()];
}
