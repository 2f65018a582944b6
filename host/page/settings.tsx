/** What this screen is set to: theme and units. */
import { usePreferences, type Units } from './preferences';

const UNITS: readonly Units[] = ['mm', 'inch fractions', 'decimal inch'];

export function Settings() {
  const [{ theme, units }, change] = usePreferences();
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
      <button type="button" onClick={() => change({ theme: theme === 'dark' ? 'light' : 'dark' })}>
        {theme === 'dark' ? 'Light' : 'Dark'}
      </button>
    </div>
  );
}
