/** Reads a bay file. Every refusal is numbered and says where. */
import { numberedError } from '../errors/errors';
import { readJson } from '../errors/json-fault';
import { baySchema, type Bay } from './bay';

/** The bay written in `text`. Throws 451 (not JSON) and 452 (fields, or names that are not among the points). */
export function parseBay(text: string, source: string): Bay {
  const data = readJson(text, source, 'bay unreadable');
  const checked = baySchema.safeParse(data);
  if (!checked.success) {
    const faults = checked.error.issues.map(
      (i) => `${i.path.map(String).join('.') || 'the file'}: ${i.message}`,
    );
    throw numberedError('bay incomplete', `${source}: ${faults.join('; ')}`);
  }
  const faults = contradictions(checked.data);
  if (faults.length > 0) throw numberedError('bay incomplete', `${source}: ${faults.join('; ')}`);
  return checked.data;
}

function contradictions({ points, survey }: Bay): string[] {
  const faults: string[] = [];
  const names = points.map((p) => p.name);
  names.forEach((name, i) => {
    if (names.indexOf(name) < i) faults.push(`points.${i}.name: '${name}' is there twice`);
  });
  points.forEach((p, i) => {
    const same = points.findIndex((q) => Math.abs(q.xMm - p.xMm) < 1 && Math.abs(q.yMm - p.yMm) < 1);
    if (same < i) faults.push(`points.${i}: '${p.name}' is where '${points[same]?.name ?? ''}' is`);
  });
  const wheels = points.filter((p) => p.wheel === true).length;
  if (wheels !== 0 && wheels !== 3 && wheels !== 4)
    faults.push(`points: ${wheels} are wheel spots; a machine stands on 3 or 4`);
  const known = (name: string, path: string) => {
    if (!names.includes(name)) faults.push(`${path}: no point is called '${name}'`);
  };
  survey?.staff.forEach((s, i) => known(s.point, `survey.staff.${i}.point`));
  survey?.steps.forEach((s, i) => {
    known(s.from, `survey.steps.${i}.from`);
    known(s.to, `survey.steps.${i}.to`);
  });
  return faults;
}
