/** What was sent, read no further than anything honest is long, and checked against its form before it is used. */
import type { Context } from 'hono';
import type { z } from 'zod';
import { numberedError } from '../errors/errors';

/** A machine profile is the largest thing that is ever sent. */
const BODY_BYTES = 256 * 1024;

/** The body in this form. Throws 505, and 509 naming what is wrong in it. */
export async function body<T>(c: Context, form: z.ZodType<T>): Promise<T> {
  const text = await bodyText(c);
  let data: unknown;
  try {
    data = JSON.parse(text);
  } catch (cause) {
    throw numberedError('request not understood', 'no JSON', cause);
  }
  const checked = form.safeParse(data);
  if (checked.success) return checked.data;
  const where = checked.error.issues.map((i) => `${i.path.join('.') || 'the whole'}: ${i.message}`);
  throw numberedError('request not understood', where.join('; '));
}

async function bodyText(c: Context): Promise<string> {
  const tooLarge = () => numberedError('request too large', `at most ${BODY_BYTES} bytes`);
  if (Number(c.req.header('content-length') ?? 0) > BODY_BYTES) throw tooLarge();
  const reader = (c.req.raw.body as ReadableStream<Uint8Array> | null)?.getReader();
  if (reader === undefined) return '';
  const decoder = new TextDecoder();
  let text = '';
  for (let bytes = 0; ;) {
    const { done, value } = await reader.read();
    if (done) return text + decoder.decode();
    bytes += value.length;
    if (bytes > BODY_BYTES) throw tooLarge();
    text += decoder.decode(value, { stream: true });
  }
}
