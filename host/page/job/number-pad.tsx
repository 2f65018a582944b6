/** Digits as large as a gloved finger: no keyboard of a tablet is. */
const KEYS = ['1', '2', '3', '4', '5', '6', '7', '8', '9', '−', '0', ','] as const;

export function NumberPad({ typed, type }: { typed: string; type: (typed: string) => void }) {
  return (
    <div class="pad" role="group" aria-label="Digits">
      {KEYS.map((key) => (
        <button type="button" tabIndex={-1} onClick={() => type(typed + (key === '−' ? '-' : key))}>
          {key}
        </button>
      ))}
      <button type="button" class="wide" tabIndex={-1} onClick={() => type(typed.slice(0, -1))}>
        Delete
      </button>
    </div>
  );
}
