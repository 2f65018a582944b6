/** Short ways from a view to the text of its full record, whose first page is the sheet's, and from one invented view to another. */
import { recordPdf } from '../../../host/report/record';
import type { SheetView } from '../../../host/views/sheet-view';
import type { MeasureRow } from '../../../host/views/stage-view';
import { inventedRecord } from './invented-view';
import { readPages, textOf, type PageContent } from './read-pdf';

export async function pagesOf(view: SheetView): Promise<PageContent[]> {
  return readPages(await recordPdf(inventedRecord(view)));
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

/** The text of these pages as one, without what stands at the head and foot of each. */
export function withoutHeads(texts: readonly string[]): string {
  return texts.map((t) => t.replace(/^.*? record \w{12} /s, '').replace(/ page \d+ of \d+$/, '')).join(' ');
}
