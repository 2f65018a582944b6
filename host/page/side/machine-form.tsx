/** A machine never seen before: what a tape gives from outside, drawn while it is typed, each fault beside its field. */
import { useEffect, useRef, useState } from 'preact/hooks';
import type { Family } from '../../machines/profile';
import type { MachineDraft } from '../../views/machine-draft';
import { DeckFromAbove } from '../drawings/deck-from-above';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import { send, type Refused } from '../send';
import { numberText, unitText } from '../units';
import { lengthTyped } from './typed';

type FieldFault = MachineDraft['faults'][number];
type Field =
  | 'model'
  | 'family'
  | 'blades'
  | 'bladeLengthMm'
  | 'spacingMm'
  | 'staggerMm'
  | 'wheelbaseMm'
  | 'frontTrackMm'
  | 'rearTrackMm'
  | 'rotation'
  | 'cutHeightMm';

const FAMILIES: readonly (readonly [Family, string])[] = [
  ['mid-mount hung', 'Hung between the axles on chains, links or turnbuckles'],
  ['front rod with rear lift arms', 'Front rod, lift arms at the rear'],
  ['floating with gauge wheels', 'Floats on gauge wheels of its own'],
  ['out-front', 'In front of the machine, on its own wheels'],
  ['walk-behind', 'Walk-behind, wheels on the shell'],
  ['stand-on', 'Stand-on'],
];

interface Length {
  readonly field: Field;
  readonly label: string;
  readonly hint?: string;
  /** Asked only where there is more than one blade. */
  readonly between?: true;
}

const LENGTHS: readonly Length[] = [
  { field: 'bladeLengthMm', label: 'One blade, from tip to tip' },
  {
    field: 'spacingMm',
    label: 'From the middle of one spindle to the next, across the machine',
    between: true,
  },
  {
    field: 'staggerMm',
    label: 'How far every second spindle from the left stands ahead of the others',
    hint: '0: in line; with a minus: behind',
    between: true,
  },
  { field: 'wheelbaseMm', label: 'From the drive axle to the front axle' },
  { field: 'frontTrackMm', label: 'Between the middles of the front tyres', hint: '0: one front wheel' },
  { field: 'rearTrackMm', label: 'Between the middles of the rear tyres' },
  { field: 'cutHeightMm', label: 'Cut height that the owner uses most' },
];

/** Drawn and checked when nothing was typed for so long. */
const PAUSE_MS = 120;

export function MachineForm() {
  const [{ units, atFront }] = usePreferences();
  const [words, setWords] = useState<Partial<Record<Field, string>>>({});
  const [answer, setAnswer] = useState<MachineDraft>();
  const [isTried, setTried] = useState(false);
  const [refused, setRefused] = useState<Refused>();
  const form = useRef<HTMLFormElement>(null);
  const blades = Number(words.blades ?? 2);
  const typed = typedOf(words, blades, (text) => lengthTyped(text, units));
  const key = JSON.stringify(typed);
  useEffect(() => {
    const timer = setTimeout(() => {
      void send<MachineDraft>('/api/machines/draft', typed).then((result) => {
        if ('reply' in result) setAnswer(result.reply);
        else setRefused(result.refused);
      });
    }, PAUSE_MS);
    return () => clearTimeout(timer);
  }, [key]);
  const set = (field: Field, text: string) => setWords({ ...words, [field]: text });
  const faultOf = (field: Field): FieldFault | undefined =>
    isTried || (words[field] ?? '') !== '' ? answer?.faults.find((f) => f.field === field) : undefined;
  const save = async () => {
    setTried(true);
    const checked = await send<MachineDraft>('/api/machines/draft', typed);
    if ('refused' in checked) return setRefused(checked.refused);
    setAnswer(checked.reply);
    const first = checked.reply.faults[0];
    if (first !== undefined) {
      setRefused(undefined);
      form.current?.querySelector<HTMLElement>(`[name="${first.field}"]`)?.focus();
      return;
    }
    const saved = await send<{ model: string }>('/api/machines', typed);
    if ('refused' in saved) return setRefused(saved.refused);
    location.hash = `#/machines/of/${encodeURIComponent(saved.reply.model)}`;
  };
  const asked = LENGTHS.filter((l) => l.between === undefined || blades > 1);
  return (
    <div class="side">
      <h1>A machine from a tape</h1>
      <p>Five things from outside; nothing has to be taken off or lifted. Lengths in {unitText(units)}.</p>
      <div class="halves">
        <form
          ref={form}
          class="fields"
          noValidate
          onSubmit={(event) => {
            event.preventDefault();
            void save();
          }}
        >
          <TextField
            field="model"
            label="What is it called? Its model, as it is to stand on the sheet"
            value={words.model ?? ''}
            fault={faultOf('model')}
            set={set}
          />
          <Choice
            field="family"
            label="How is its deck carried?"
            choices={FAMILIES}
            value={words.family ?? ''}
            fault={faultOf('family')}
            set={set}
          />
          <Choice
            field="blades"
            label="How many blades, beside each other?"
            choices={['1', '2', '3', '4', '5'].map((n) => [n, n] as const)}
            value={words.blades ?? ''}
            fault={faultOf('blades')}
            set={set}
          />
          {asked.map(({ field, label, hint }) => (
            <TextField
              key={field}
              field={field}
              label={`${label}, ${unitText(units)}`}
              {...(hint === undefined ? {} : { hint })}
              value={words[field] ?? ''}
              fault={faultOf(field)}
              set={set}
              isNumber
            />
          ))}
          <Choice
            field="rotation"
            label="Seen from above, the blades turn"
            choices={[
              ['clockwise', 'clockwise'],
              ['counter-clockwise', 'counter-clockwise'],
            ]}
            value={words.rotation ?? ''}
            fault={faultOf('rotation')}
            set={set}
          />
          {answer?.faults
            .filter((f) => f.field === '')
            .map((fault) => (
              <Fault key={fault.text} fault={fault} />
            ))}
          <div class="deeds">
            <button type="submit" class="main">
              Save this machine
            </button>
            <a class="button" href="#/machines">
              Leave it
            </a>
          </div>
          <Refusal refused={refused} />
        </form>
        <div class="picture stays">
          {answer === undefined || answer.plan === null ? (
            <p class="quiet">{answer === undefined ? '' : 'What is typed cannot be drawn as a machine.'}</p>
          ) : (
            <>
              <DeckFromAbove plan={answer.plan} fromFront={atFront} say={(mm) => numberText(mm, units)} />
              {!answer.isComplete && <p class="quiet">What is not typed yet is drawn as usual.</p>}
            </>
          )}
        </div>
      </div>
    </div>
  );
}

/** What goes to the server: numbers as millimetres, what is no number as it stands, so that the server says so. */
function typedOf(
  words: Partial<Record<Field, string>>,
  blades: number,
  length: (text: string) => number | undefined,
): Record<string, unknown> {
  const entries = Object.entries(words).flatMap(([field, text]): [string, unknown][] => {
    if (text.trim() === '') return [];
    if (field === 'blades') return [[field, Number(text)]];
    const asLength = LENGTHS.find((l) => l.field === field);
    if (asLength === undefined) return [[field, text]];
    return asLength.between === true && blades === 1 ? [] : [[field, length(text) ?? text]];
  });
  return Object.fromEntries(entries);
}

interface FieldProps {
  readonly field: Field;
  readonly label: string;
  readonly value: string;
  readonly fault: FieldFault | undefined;
  readonly set: (field: Field, text: string) => void;
}

function TextField(props: FieldProps & { readonly hint?: string; readonly isNumber?: true }) {
  const { field, label, hint, value, fault, set, isNumber } = props;
  const about = `${field}-about`;
  return (
    <div class="field">
      <label for={field}>{label}</label>
      <input
        id={field}
        name={field}
        value={value}
        autocomplete="off"
        inputMode={isNumber === true ? 'decimal' : 'text'}
        aria-invalid={fault !== undefined}
        aria-describedby={about}
        onInput={(event) => set(field, event.currentTarget.value)}
      />
      <div id={about}>
        {hint !== undefined && <p class="hint">{hint}</p>}
        <Fault fault={fault} />
      </div>
    </div>
  );
}

function Choice(
  props: FieldProps & { readonly choices: readonly (readonly [value: string, text: string])[] },
) {
  const { field, label, choices, value, fault, set } = props;
  return (
    <fieldset class="choice">
      <legend>{label}</legend>
      <div>
        {choices.map(([of, text], i) => (
          <label key={of} class="option">
            <input
              type="radio"
              name={field}
              checked={value === of}
              {...(i === 0 ? { 'aria-describedby': `${field}-about` } : {})}
              onChange={() => set(field, of)}
            />
            <span>{text}</span>
          </label>
        ))}
      </div>
      <div id={`${field}-about`}>
        <Fault fault={fault} />
      </div>
    </fieldset>
  );
}

function Fault({ fault }: { fault: FieldFault | undefined }) {
  return fault === undefined ? null : (
    <p class="fault">
      <strong>E{fault.number}</strong> {fault.text}
    </p>
  );
}
