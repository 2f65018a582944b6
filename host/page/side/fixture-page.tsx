/** The fixture: whether it may be trusted today, its daily check and studies, and what traces it to a laboratory. */
import { useEffect, useState } from 'preact/hooks';
import type { BayScreen } from '../../views/bay-screen';
import type { FixtureState, InstrumentsState } from '../../views/fixture-state';
import { ChartDrawing } from '../drawings/chart';
import { usePreferences } from '../preferences';
import { Refusal } from '../refusal';
import type { PageProps } from '../routes';
import { send, type Refused } from '../send';
import { useHeard } from '../stream';
import { lengthText, sentence } from '../units';
import { useAsked } from './asked';
import { Facts } from './machines-page';
import { SessionCard } from './session-card';
import './side.css';

export function FixturePage(_: PageProps) {
  const { screen } = useHeard();
  const { reply, refused, again } = useAsked<InstrumentsState>('/api/instruments');
  const isDone = (screen?.session?.done ?? null) !== null;
  // A check that has just ended changes what is known.
  useEffect(again, [isDone]);
  if (screen === undefined) return null;
  return (
    <div class="side">
      {screen.session === null ? (
        <>
          <h1>Fixture</h1>
          <Begin screen={screen} />
        </>
      ) : (
        <SessionCard session={screen.session} />
      )}
      <Refusal refused={refused} />
      <LinkState screen={screen} />
      {reply?.fixtures.length === 0 && (
        <p class="state unsure">
          <strong>? Not under daily check.</strong> Check the fixture on its height master every day: a drift
          shows before it spoils a result.
        </p>
      )}
      {reply?.fixtures.map((fixture) => (
        <OneFixture key={fixture.fixtureId} fixture={fixture} />
      ))}
      {reply !== undefined && <Register instruments={reply} />}
    </div>
  );
}

function LinkState({ screen: { bay, job } }: { screen: BayScreen }) {
  return (
    <p>
      {bay.simulated ? 'Simulated fixture. ' : ''}
      {bay.fixtures.length === 0
        ? 'The link is opened when a job, a check or a study begins.'
        : bay.fixtures
            .map((f) => `Fixture ${f.fixtureId}: ${f.isHere ? 'on the line' : 'NOT on the line'}`)
            .join('; ')}
      {job === null ? '' : ` In job ${job.job}.`}
    </p>
  );
}

/** What can be begun while nothing is taken. */
function Begin({ screen }: { screen: BayScreen }) {
  const [refused, setRefused] = useState<Refused>();
  const [technician, setTechnician] = useState('');
  const [isStudy, setStudy] = useState(false);
  const begin = async (order: object) => {
    const result = await send('/api/session/begin', { technician, ...order });
    setRefused('refused' in result ? result.refused : undefined);
  };
  const isBusy = screen.job !== null && screen.job.closed === null;
  return (
    <section aria-label="Begin">
      <div class="field">
        <label for="technician">Technician</label>
        <input
          id="technician"
          value={technician}
          autocomplete="off"
          onInput={(event) => setTechnician(event.currentTarget.value)}
        />
      </div>
      {isBusy && <p class="quiet">A job is in hand: close it or lay it aside first.</p>}
      <div class="deeds">
        <button type="button" class="main" disabled={isBusy} onClick={() => void begin({ use: 'check' })}>
          Daily check now
        </button>
        <button type="button" disabled={isBusy} aria-expanded={isStudy} onClick={() => setStudy(!isStudy)}>
          Study of clampings
        </button>
        <button
          type="button"
          disabled={isBusy}
          onClick={() => void begin({ use: 'calibration', days: CALIBRATION_DAYS })}
        >
          Calibrate
        </button>
      </div>
      <p class="hint">
        A calibration wants the height master and the gauge blocks in the register, in date, and takes a
        quarter of an hour.
      </p>
      {isStudy && <StudyForm begin={(order) => void begin(order)} />}
      <Refusal refused={refused} />
    </section>
  );
}

/** Shop rule, as on the command line. */
const CALIBRATION_DAYS = 365;

const list = (text: string) => text.split(',').flatMap((part) => (part.trim() === '' ? [] : [part.trim()]));

/** Who clamps on what, how often: the order is drawn by lot. */
function StudyForm({ begin }: { begin: (order: object) => void }) {
  const [tips, setTips] = useState('left A, left B, centre A, right A, right B');
  const [technicians, setTechnicians] = useState('');
  const [repeats, setRepeats] = useState('3');
  return (
    <form
      class="fields"
      onSubmit={(event) => {
        event.preventDefault();
        begin({
          use: 'study',
          tips: list(tips),
          technicians: list(technicians),
          repeats: Number(repeats),
          seed: Math.floor(Math.random() * 1e6),
        });
      }}
    >
      <div class="field">
        <label for="study-tips">Tips to clamp on, with commas between</label>
        <input id="study-tips" value={tips} onInput={(event) => setTips(event.currentTarget.value)} />
      </div>
      <div class="field">
        <label for="study-people">Technicians, with commas between</label>
        <input
          id="study-people"
          value={technicians}
          onInput={(event) => setTechnicians(event.currentTarget.value)}
        />
      </div>
      <div class="field">
        <label for="study-repeats">How often each clamps on each tip</label>
        <input
          id="study-repeats"
          inputMode="numeric"
          value={repeats}
          onInput={(event) => setRepeats(event.currentTarget.value)}
        />
      </div>
      <div class="deeds">
        <button type="submit" class="main">
          Begin the study
        </button>
      </div>
    </form>
  );
}

const SIGNS = {
  'in control': '✓',
  'out of control': '✗',
  overdue: '?',
  'not under daily check': '?',
} as const;
const STATES = {
  'in control': 'good',
  'out of control': 'bad',
  overdue: 'unsure',
  'not under daily check': 'unsure',
} as const;

function OneFixture({ fixture }: { fixture: FixtureState }) {
  const [{ units }] = usePreferences();
  const { check, calibration, calibrations, charts } = fixture;
  return (
    <section aria-label={`Fixture ${fixture.fixtureId}`}>
      <h2>Fixture {fixture.fixtureId}</h2>
      <p class={`state ${STATES[check.state]}`}>
        <strong>
          {SIGNS[check.state]} {check.state}
        </strong>
        {check.on === null ? '' : `, checked on ${check.on}`}
        {check.why === '' ? '' : `: ${sentence(check.why, units)}`}
      </p>
      <p>Next: {fixture.next}</p>
      <Facts
        facts={[
          [
            'calibration',
            calibration === null
              ? 'none in this log'
              : `${calibration.on}, ${calibration.isOverdue ? 'was due' : 'due'} ${calibration.due}`,
          ],
          ['checks', `${check.checks} since the calibration; charts learn from ${check.wanted}`],
        ]}
      />
      <div class="pictures">
        {charts.map((chart) => (
          <ChartDrawing key={chart.title} chart={chart} />
        ))}
      </div>
      {calibrations.length > 0 && (
        <div class="scrolls" tabIndex={0} role="region" aria-label="Calibrations">
          <table>
            <caption>Calibrations</caption>
            <thead>
              <tr>
                <th scope="col">On</th>
                <th scope="col">Due</th>
                <th scope="col">By</th>
                <th scope="col">Versions</th>
                <th scope="col">U (k = 2) up to</th>
                <th scope="col">Record</th>
              </tr>
            </thead>
            <tbody>
              {calibrations.map((c) => (
                <tr key={c.session}>
                  <td>{c.on}</td>
                  <td>{c.due}</td>
                  <td>
                    {c.by || '–'}
                    {c.simulated ? ' (simulated)' : ''}
                  </td>
                  <td>{c.versions}</td>
                  <td>{lengthText(c.worstExpandedMm, units, 3)}</td>
                  <td>
                    <a href={`/api/calibrations/${c.session}/record.pdf`} download>
                      PDF
                    </a>
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
    </section>
  );
}

function Register({ instruments: { register, placement } }: { instruments: InstrumentsState }) {
  const [{ units }] = usePreferences();
  return (
    <section aria-label="Reference equipment">
      <h2>Reference equipment</h2>
      {register.length === 0 ? (
        <p>
          Nothing is registered: the height master counts with its nominal heights. Enter its certificate with{' '}
          <code>swathplane equipment add</code>.
        </p>
      ) : (
        <div class="scrolls" tabIndex={0} role="region" aria-label="Register">
          <table>
            <thead>
              <tr>
                <th scope="col">What</th>
                <th scope="col">Certificate</th>
                <th scope="col">Laboratory</th>
                <th scope="col">Due</th>
                <th scope="col">U (k = 2)</th>
              </tr>
            </thead>
            <tbody>
              {register.map((e) => (
                <tr key={e.id}>
                  <th scope="row">
                    {e.kind} {e.id}
                  </th>
                  <td>{e.certificate}</td>
                  <td>{e.laboratory}</td>
                  <td>
                    {e.due}
                    {e.isOverdue && <strong> ✗ overdue</strong>}
                  </td>
                  <td>
                    {e.expandedUncertainty} {e.unit}
                  </td>
                </tr>
              ))}
            </tbody>
          </table>
        </div>
      )}
      {placement !== null && (
        <p>
          Clampings count with {lengthText(placement.placementMm, units, 2)} ({placement.source} of{' '}
          {placement.on}).
        </p>
      )}
    </section>
  );
}
