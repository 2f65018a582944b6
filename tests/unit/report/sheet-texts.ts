/** Short ways from a view to the text of its sheet, and from one invented view to another. */
import { sheetPdf } from '../../../host/report/sheet';
import type { SheetView } from '../../../host/views/sheet-view';
import type { MeasureRow } from '../../../host/views/stage-view';
import { readPages, textOf, type PageContent } from './read-pdf';

export async function pagesOf(view: SheetView): Promise<PageContent[]> {
  return readPages(await sheetPdf(view));
}

export async function textsOf(view: SheetView): Promise<string[]> {
  return (await pagesOf(view)).map(textOf);
}

/** The view with something changed in the measures of its last stage. */
export function withLastMeasure(view: SheetView, index: number, change: Partial<MeasureRow>): SheetView {
  const last = view.stages.at(-1);
  if (last === undefined) throw new Error('no stage');
  const measures = last.measures.map((m, i) => (i === index ? { ...m, ...change } : m));
  return { ...view, stages: [...view.stages.slice(0, -1), { ...last, measures }] };
}

export function open(view: SheetView): SheetView {
  return { ...view, decision: undefined, closedAt: undefined };
}
