/** What this screen is set to: theme, units, and where the person stands. */
import { usePreferences, type Units } from './preferences';

const UNITS: readonly Units[] = ['mm', 'inch fractions', 'decimal inch'];

export function Settings() {
  const [{ theme, units, atFront }, change] = usePreferences();
  return (
    <div class="settings">
      <label>
        <span class="hidden">Units</span>
        <select value={units} onChange={(e) => change({ units: e.currentTarget.value as Units })}>
          {UNITS.map((u) => (
            <option value={u}>{u}</option>
          ))}
        </select>
      </label>
      <button type="button" aria-pressed={atFront} onClick={() => change({ atFront: !atFront })}>
        I stand at the front
      </button>
      <button type="button" onClick={() => change({ theme: theme === 'dark' ? 'light' : 'dark' })}>
        {theme === 'dark' ? 'Light' : 'Dark'}
      </button>
    </div>
  );
}
