/** Drawings as plain trees: the components are pure functions without hooks, so they can be called where there is no browser. */
import { Fragment, type ComponentChildren, type VNode } from 'preact';

export interface Element {
  readonly tag: string;
  readonly attributes: Readonly<Record<string, string>>;
  readonly children: readonly (Element | string)[];
}

/** What a component draws. */
export function drawn(node: ComponentChildren): Element {
  const [root] = resolved(node);
  if (root === undefined || typeof root === 'string') throw new Error('nothing was drawn');
  return root;
}

function resolved(node: ComponentChildren): (Element | string)[] {
  if (node === null || node === undefined || typeof node === 'boolean') return [];
  if (Array.isArray(node)) return node.flatMap((n: ComponentChildren) => resolved(n));
  if (typeof node !== 'object') return [String(node)];
  const { type, props } = node as VNode<Record<string, unknown>>;
  const children = props.children;
  if (type === Fragment) return resolved(children);
  if (typeof type === 'function') return resolved((type as (props: unknown) => ComponentChildren)(props));
  const attributes = Object.fromEntries(
    Object.entries(props)
      .filter(([name, value]) => name !== 'children' && value !== undefined)
      .map(([name, value]) => [name, String(value)]),
  );
  return [{ tag: type, attributes, children: resolved(children) }];
}

/** All elements of a tree with this tag and, if given, this class among theirs, in the order drawn. */
export function all(root: Element, tag: string, name?: string): Element[] {
  const own =
    root.tag === tag && (name === undefined || (root.attributes.class ?? '').split(' ').includes(name));
  return [
    ...(own ? [root] : []),
    ...root.children.flatMap((c) => (typeof c === 'string' ? [] : all(c, tag, name))),
  ];
}

/** The words of an element and of those in it. */
export function words(root: Element): string {
  return root.children.map((c) => (typeof c === 'string' ? c : words(c))).join(' ');
}

/** Numbers of an attribute: of a path, a view box, a single one. */
export function numbers(text = ''): number[] {
  return [...text.matchAll(/-?\d+(?:\.\d+)?/g)].map((m) => Number(m[0]));
}

/** As markup. */
export function markup({ tag, attributes, children }: Element): string {
  const escaped = (text: string) =>
    text.replaceAll('&', '&amp;').replaceAll('<', '&lt;').replaceAll('"', '&quot;');
  const own = Object.entries(attributes).map(([name, value]) => ` ${name}="${escaped(value)}"`);
  const inside = children.map((c) => (typeof c === 'string' ? escaped(c) : markup(c)));
  return `<${tag}${own.join('')}>${inside.join('')}</${tag}>`;
}
