/**
 * A tagged PDF to draw on: lengths in points, y downward from the top of the page. Text goes in as single lines of known
 * width, so that nothing can run off the page unseen: what does not fit is cut with an ellipsis and kept in `shortened`.
 *
 * Streams stay uncompressed: deflate differs from one zlib to the next, and equal views must give equal bytes.
 */
import { fileURLToPath } from 'node:url';
import PDFDocument from 'pdfkit';
import { MISSING, needsEmbeddedType, printable } from './printable';

export const PAGE = { width: 595.28, height: 841.89 };
export const MARGIN = 36;
export const CONTENT_WIDTH = PAGE.width - 2 * MARGIN;
/** Smallest type of the sheet. */
export const SMALL = 7.5;

export interface Facts {
  readonly title: string;
  readonly author: string;
  readonly subject: string;
  readonly keywords: string;
  readonly date: Date;
}

export interface TextStyle {
  readonly size?: number;
  readonly bold?: boolean;
  readonly ink?: string;
  readonly align?: 'left' | 'center' | 'right';
}

export interface LineStyle {
  readonly width?: number;
  readonly ink?: string;
  readonly dash?: number;
}

export interface ShapeStyle extends LineStyle {
  readonly fill?: string;
  /** No outline. */
  readonly bare?: boolean;
}

/** Inks differ in lightness, so a black-and-white print keeps them apart. */
export const INK = {
  black: '#000000',
  accent: '#1d4d33',
  grey: '#555555',
  pale: '#b5b5b5',
  tint: '#ececec',
  white: '#ffffff',
};

/** Upright and bold: a standard font of PDF by its name, or the file of one that is embedded. */
const STANDARD_TYPE = ['Helvetica', 'Helvetica-Bold'] as const;
const EMBEDDED_TYPE = ['DejaVuSansCondensed', 'DejaVuSansCondensed-Bold'].map(
  (name) => `dejavu-fonts-ttf/ttf/${name}.ttf`,
);

type Face = string;
type Element = PDFKit.PDFStructureElement;
export type Point = readonly [x: number, y: number];

export class Paper {
  /** Full texts of the lines that had to be cut. */
  readonly shortened: string[] = [];
  /** True once a character had to be replaced by `MISSING`. */
  hasMissing = false;
  pages = 0;
  private readonly doc: PDFKit.PDFDocument;
  private readonly widths = new Map<Face, Map<string, number>>();
  private parent: Element;
  private inLeaf = false;

  constructor(facts: Facts) {
    this.doc = new PDFDocument({
      autoFirstPage: false,
      margin: 0,
      size: 'A4',
      compress: false,
      // So that every page can say of how many it is one.
      bufferPages: true,
      pdfVersion: '1.7',
      tagged: true,
      lang: 'en-GB',
      displayTitle: true,
      // pdfkit derives the document's id from these and from nothing else; the keywords carry the record's hash.
      info: {
        Title: facts.title,
        Author: facts.author,
        Subject: facts.subject,
        Keywords: facts.keywords,
        Creator: 'Swathplane',
        CreationDate: facts.date,
        ModDate: facts.date,
      },
    });
    this.parent = this.doc.struct('Document');
    this.doc.addStructure(this.parent);
  }

  addPage(): void {
    this.doc.addPage();
    this.pages += 1;
  }

  async bytes(): Promise<Uint8Array> {
    for (let i = 0; i < this.pages; i += 1) {
      this.doc.switchToPage(i);
      const y = PAGE.height - MARGIN + 3;
      this.running(`page ${i + 1} of ${this.pages}`, MARGIN, y, CONTENT_WIDTH, { align: 'right' });
    }
    this.parent.end();
    this.doc.end();
    const chunks: Uint8Array[] = [];
    for await (const chunk of this.doc) chunks.push(chunk as Uint8Array);
    return Buffer.concat(chunks);
  }

  /** A structure element around what `draw` adds. */
  group(tag: string, draw: () => void): void {
    const outer = this.parent;
    const element = this.doc.struct(tag);
    outer.add(element);
    this.parent = element;
    draw();
    this.parent = outer;
    element.end();
  }

  /** A drawing with its texts as one element; `alt` says it in words. */
  figure(alt: string, draw: () => void): void {
    this.leaf('Figure', { alt: printable(alt) }, draw);
  }

  /** One line, y at the top of its letters; cut where it is wider than `width`. */
  line(text: string, x: number, y: number, width: number, style: TextStyle = {}, tag = 'P'): void {
    const said = this.said(text);
    this.set(said, faceOf(said, style.bold), x, y, width, style, tag);
  }

  /** A line that stands on every page, which a screen reader passes over; what is cut of it stands elsewhere. */
  running(text: string, x: number, y: number, width: number, { size = SMALL, align }: TextStyle = {}): void {
    this.artifact(() => {
      this.inLeaf = true;
      const said = printable(text);
      const face = faceOf(said);
      this.set(this.cut(said, width, size, face), face, x, y, width, { size, ...(align && { align }) }, 'P');
      this.inLeaf = false;
    });
  }

  /** Lines broken at spaces; the last one that `most` allows is cut. Returns the y below. */
  paragraph(
    text: string,
    x: number,
    y: number,
    width: number,
    style: TextStyle & { most?: number } = {},
    tag = 'P',
  ): number {
    const { size = 8.5, bold = false, most = Infinity } = style;
    const said = this.said(text);
    const face = faceOf(said, bold);
    const lines = this.broken(said, width, size, face);
    const kept = lines.slice(0, most);
    if (lines.length > most) {
      this.keep(said);
      kept[most - 1] = this.cut(`${kept[most - 1] ?? ''}…`, width, size, face);
    }
    this.leaf(tag, {}, () => {
      kept.forEach((line, i) => this.set(line, face, x, y + i * leading(size), width, style, tag));
    });
    return y + kept.length * leading(size);
  }

  /** The lines that a paragraph takes. */
  lines(text: string, width: number, size: number, bold = false): string[] {
    const said = this.said(text);
    return this.broken(said, width, size, faceOf(said, bold));
  }

  width(text: string, size: number, bold = false): number {
    const said = printable(text);
    return this.widthIn(faceOf(said, bold), said, size);
  }

  stroke(points: readonly Point[], style: LineStyle = {}): void {
    this.shape(() => this.path(points), { ...style });
  }

  polygon(points: readonly Point[], style: ShapeStyle = {}): void {
    this.shape(() => this.path(points).closePath(), { fill: INK.white, ...style });
  }

  box(x: number, y: number, width: number, height: number, style: ShapeStyle = {}): void {
    this.shape(() => this.doc.rect(x, y, width, height), { fill: INK.white, ...style });
  }

  circle(x: number, y: number, radius: number, style: ShapeStyle = {}): void {
    this.shape(() => this.doc.circle(x, y, radius), style);
  }

  /** Large pale letters across the page, beneath what is drawn afterwards. */
  overprint(text: string, size: number): void {
    this.artifact(() => {
      const width = this.width(text, size, true);
      this.doc
        .save()
        .font(faceOf(printable(text), true))
        .fontSize(size)
        .rotate(-52, { origin: [PAGE.width / 2, PAGE.height / 2] })
        .fillColor('#e2e2e2');
      this.doc.text(printable(text), (PAGE.width - width) / 2, PAGE.height / 2, {
        lineBreak: false,
        baseline: 'middle',
      });
      this.doc.restore();
    });
  }

  private path(points: readonly Point[]): PDFKit.PDFDocument {
    points.forEach(([x, y], i) => (i === 0 ? this.doc.moveTo(x, y) : this.doc.lineTo(x, y)));
    return this.doc;
  }

  private shape(
    trace: () => void,
    { width = 0.6, ink = INK.black, dash, fill, bare = false }: ShapeStyle,
  ): void {
    this.artifact(() => {
      this.doc.save().lineWidth(width).strokeColor(ink);
      if (dash !== undefined) this.doc.dash(dash, { space: dash });
      if (fill !== undefined) this.doc.fillColor(fill);
      trace();
      if (fill === undefined) this.doc.stroke();
      else if (bare) this.doc.fill();
      else this.doc.fillAndStroke();
      this.doc.restore();
    });
  }

  /** Marks decoration, so that a screen reader passes over it; inside an element it belongs to that element. */
  private artifact(draw: () => void): void {
    if (this.inLeaf) return draw();
    this.doc.markContent('Artifact', { type: 'Layout' });
    draw();
    this.doc.endMarkedContent();
  }

  private leaf(tag: string, options: { alt?: string }, draw: () => void): void {
    if (this.inLeaf) return draw();
    const element = this.doc.struct(tag, options);
    this.parent.add(element);
    this.inLeaf = true;
    element.add(draw);
    this.inLeaf = false;
    element.end();
  }

  /** One line of printable text in this face. */
  private set(
    said: string,
    face: Face,
    x: number,
    y: number,
    width: number,
    { size = 8.5, ink = INK.black, align = 'left' }: TextStyle,
    tag: string,
  ): void {
    const shown = this.cut(said, width, size, face);
    if (shown === '') return;
    if (shown !== said) this.keep(said);
    const taken = this.widthIn(face, shown, size);
    const left = align === 'left' ? x : align === 'right' ? x + width - taken : x + (width - taken) / 2;
    this.leaf(tag, {}, () => {
      this.doc.fillColor(ink).font(face).fontSize(size);
      this.doc.text(shown, left, y + 0.8 * size, { lineBreak: false, baseline: 'alphabetic' });
    });
  }

  /** Widths go by the size of the type, and tables ask for the same text again and again. */
  private widthIn(face: Face, said: string, size: number): number {
    const widths = this.widths.get(face) ?? new Map<string, number>();
    this.widths.set(face, widths);
    const known = widths.get(said) ?? this.doc.font(face).fontSize(1).widthOfString(said);
    widths.set(said, known);
    return known * size;
  }

  private said(text: string): string {
    const shown = printable(text);
    this.hasMissing ||= shown.includes(MISSING);
    return shown;
  }

  private cut(text: string, width: number, size: number, face: Face): string {
    if (this.widthIn(face, text, size) <= width + 0.01) return text;
    let kept = text.replace(/…$/, '');
    while (kept !== '' && this.widthIn(face, `${kept}…`, size) > width) kept = kept.slice(0, -1);
    return `${kept.trimEnd()}…`;
  }

  private keep(full: string): void {
    if (!this.shortened.includes(full)) this.shortened.push(full);
  }

  private broken(text: string, width: number, size: number, face: Face): string[] {
    const lines: string[] = [];
    let line = '';
    for (const word of text.split(' ').flatMap((w) => this.pieces(w, width, size, face))) {
      const longer = line === '' ? word : `${line} ${word}`;
      if (line !== '' && this.widthIn(face, longer, size) > width) {
        lines.push(line);
        line = word;
      } else line = longer;
    }
    return line === '' ? lines : [...lines, line];
  }

  /** A word wider than the line falls into pieces that fit. */
  private pieces(word: string, width: number, size: number, face: Face): string[] {
    const pieces: string[] = [''];
    for (const character of word) {
      const longer = `${pieces.at(-1) ?? ''}${character}`;
      if (this.widthIn(face, longer, size) > width) pieces.push(character);
      else pieces[pieces.length - 1] = longer;
    }
    return pieces;
  }
}

/** What sets a printable text, all of it. */
function faceOf(said: string, bold = false): Face {
  const weight = bold ? 1 : 0;
  return needsEmbeddedType(said)
    ? fileURLToPath(import.meta.resolve(EMBEDDED_TYPE[weight] ?? ''))
    : STANDARD_TYPE[weight];
}

/** From one line to the next. */
export function leading(size: number): number {
  return 1.24 * size;
}
