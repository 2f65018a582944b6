import { numberedError } from '../errors/errors';
import { checklistJsonSchema, parseChecklist, type Checklist } from '../machines/checklist';
import { itemText } from '../views/task-text';
import { print, printJson, readIn } from './output';

/** The checklist of a file, where one is named. Errors: 311, 312, 405. */
export function checklistIn(file: string | undefined): Checklist | undefined {
  return file === undefined ? undefined : parseChecklist(readIn(file), file);
}

/** Shows a checklist as the job asks it. Errors: 311, 312, 403, 405. */
export function checklist(
  file: string | undefined,
  { schema, json }: { readonly schema?: boolean; readonly json?: boolean },
): Promise<number> {
  if (schema === true) {
    printJson(checklistJsonSchema());
    return Promise.resolve(0);
  }
  if (file === undefined) throw numberedError('command not understood', 'a file is wanted, or --schema');
  const list = parseChecklist(readIn(file), file);
  if (json === true) printJson(list);
  else
    print(
      `${list.name}${list.uses === undefined ? '' : `, for ${list.uses.join(', ')}`}`,
      'Before measuring:',
      ...list.beforeMeasuring.map(
        (item) => `  ${itemText(item)}${item.gate === true ? ' (nothing is measured before)' : ''}`,
      ),
      'Before delivery:',
      ...list.beforeDelivery.map((item) => `  ${itemText(item)}`),
    );
  return Promise.resolve(0);
}
