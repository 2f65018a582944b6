import { numberedError } from '../errors/errors';
import { checklistJsonSchema, parseChecklist } from '../machines/checklist';
import { itemText } from '../views/task-text';
import { print, printJson, readIn } from './output';

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
