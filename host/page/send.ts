/** Sends what a person did to the server. */

/** A refusal of the server, in its words. */
export interface Refused {
  readonly number: number;
  readonly cause: string;
  readonly about: string;
  readonly nextStep: string;
}

const UNREACHABLE: Refused = {
  number: 0,
  cause: 'the computer of the bay cannot be reached',
  about: '',
  nextStep: 'wait until it is back: nothing that was shown as done is lost',
};

/** Resolves with the reply, or with why it was refused; never rejects. */
export async function send<Reply = unknown>(
  path: string,
  body: unknown,
): Promise<{ readonly reply: Reply } | { readonly refused: Refused }> {
  try {
    const response = await fetch(path, {
      method: 'POST',
      headers: { 'Content-Type': 'application/json' },
      body: JSON.stringify(body),
    });
    return await told<Reply>(response);
  } catch {
    return { refused: UNREACHABLE };
  }
}

/** The same for what is only looked at. */
export async function ask<Reply>(
  path: string,
): Promise<{ readonly reply: Reply } | { readonly refused: Refused }> {
  try {
    return await told<Reply>(await fetch(path));
  } catch {
    return { refused: UNREACHABLE };
  }
}

async function told<Reply>(response: Response) {
  const data: unknown = await response.json();
  return response.ok ? { reply: data as Reply } : { refused: (data as { error: Refused }).error };
}
