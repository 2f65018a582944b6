import { listProfiles, loadProfile, profileJsonSchema } from '../machines/load';
import { columns } from '../terminal/stage-text';
import { print, printJson } from './output';

export interface MachinesOptions {
  readonly schema?: boolean;
  readonly json?: boolean;
}

export function machines(name: string | undefined, options: MachinesOptions): Promise<number> {
  if (options.schema === true) printJson(profileJsonSchema());
  else if (name !== undefined) printJson(loadProfile(name));
  else if (options.json === true) printJson(listProfiles());
  else {
    const rows = listProfiles().map((profile) => [
      profile.model,
      `${profile.spindles.length}`,
      profile.family,
      `${profile.cutHeightMm} mm`,
      profile.invented ? 'invented' : '',
    ]);
    print(...columns([['model', 'spindles', 'family', 'cut height', ''], ...rows]));
  }
  return Promise.resolve(0);
}
