/** A screen that is new to this bay types the code that the computer of the bay shows. */
import { useState } from 'preact/hooks';
import { Refusal } from './refusal';
import { send, type Refused } from './send';
import { call } from './stream';

export function Pairing() {
  const [code, setCode] = useState('');
  const [refused, setRefused] = useState<Refused>();
  const pair = async () => {
    const result = await send('/api/pair', { code });
    if ('reply' in result) call();
    else setRefused(result.refused);
  };
  return (
    <main class="narrow">
      <h1>Pair this screen</h1>
      <p>Type the code that the computer of the bay shows.</p>
      <form
        onSubmit={(event) => {
          event.preventDefault();
          void pair();
        }}
      >
        <label>
          Pairing code
          <input
            value={code}
            inputMode="numeric"
            autocomplete="off"
            onInput={(event) => setCode(event.currentTarget.value)}
          />
        </label>
        <button type="submit" class="main">
          Pair
        </button>
      </form>
      <Refusal refused={refused} />
    </main>
  );
}
