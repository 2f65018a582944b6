/**
 * How a question is answered. What is asked is the server's; an answer goes under the number of the question, so that a
 * second screen or a second touch enters nothing twice.
 */
import { useEffect, useState } from 'preact/hooks';
import type { QuestionPart } from '../../views/bay-screen';
import { send, type Refused } from '../send';

export interface Answering {
  readonly isReady: boolean;
  readonly typed: string;
  readonly type: (text: string) => void;
  readonly choose: (way: number) => void;
  /** What was typed is the answer. */
  readonly enter: () => void;
  readonly refused: Refused | undefined;
}

/** A touch or a key that was meant for the question before is not taken for this one. */
const REST_MS = 350;
const NUMBER = /^-?\d+([.,]\d+)?$/;

export function useAnswering({ n, typing, busy }: QuestionPart): Answering {
  const [refused, setRefused] = useState<Refused>();
  const [typed, type] = useState('');
  const [openFor, setOpenFor] = useState(-1);
  const isReady = openFor === n && busy === null;
  useEffect(() => {
    type('');
    setRefused(undefined);
    const timer = setTimeout(() => setOpenFor(n), REST_MS);
    return () => clearTimeout(timer);
  }, [n]);
  const answer = async (said: object) => {
    if (!isReady) return;
    setOpenFor(-1);
    const result = await send('/api/job/answer', { question: n, said });
    if (!('refused' in result)) return;
    setRefused(result.refused);
    setOpenFor(n);
  };
  return {
    isReady,
    typed,
    type,
    choose: (way) => void answer({ way }),
    enter: () => {
      const text = typed.trim();
      if (typing?.what === 'text') void answer({ text });
      else if (NUMBER.test(text)) void answer({ number: Number(text.replace(',', '.')) });
      else setRefused({ number: 0, cause: 'that is no number', about: text, nextStep: 'type it again' });
    },
    refused,
  };
}
