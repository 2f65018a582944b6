/** Photos of jobs: files beside the log, named by the SHA-256 that stands in the chain. */
import { existsSync, mkdirSync, readFileSync, renameSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { numberedError } from '../errors/errors';
import { sha256 } from './chain';

export interface Photo {
  readonly sha256: string;
  readonly kind: 'jpeg' | 'png';
  readonly bytes: number;
}

const BYTES_MAX = 20_000_000;

export const photoFolderOf = (logPath: string) => `${logPath}-photos`;

export function photoPath(logPath: string, { sha256: hash, kind }: Pick<Photo, 'sha256' | 'kind'>): string {
  return join(photoFolderOf(logPath), `${hash}.${kind === 'jpeg' ? 'jpg' : 'png'}`);
}

/** What a picture file is, by its first bytes (JPEG: ISO/IEC 10918-1, SOI; PNG: ISO/IEC 15948, signature). Throws 264. */
export function photoOf(content: Uint8Array, name: string): Photo {
  const start = Buffer.from(content.subarray(0, 8)).toString('hex');
  const kind = start.startsWith('ffd8ff') ? 'jpeg' : start === '89504e470d0a1a0a' ? 'png' : undefined;
  if (kind === undefined || content.length > BYTES_MAX) throw numberedError('photo not usable', name);
  return { sha256: sha256(content), kind, bytes: content.length };
}

/** Puts the file in its place, whole or not at all. It is there before the chain names it. Throws 404. */
export function keepPhoto(logPath: string, photo: Photo, content: Uint8Array): void {
  const path = photoPath(logPath, photo);
  try {
    mkdirSync(photoFolderOf(logPath), { recursive: true });
    writeFileSync(`${path}-part`, content, { flush: true });
    renameSync(`${path}-part`, path);
  } catch (cause) {
    throw numberedError('file not writable', path, cause);
  }
}

/** Undefined when it is not there. */
export function readPhoto(
  logPath: string,
  photo: Pick<Photo, 'sha256' | 'kind'>,
): Uint8Array<ArrayBuffer> | undefined {
  const path = photoPath(logPath, photo);
  return existsSync(path) ? new Uint8Array(readFileSync(path)) : undefined;
}

export function erasePhoto(logPath: string, photo: Pick<Photo, 'sha256' | 'kind'>): void {
  rmSync(photoPath(logPath, photo), { force: true });
}
