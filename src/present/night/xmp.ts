import { DOMParser, XMLSerializer, type Document, type Element } from '@xmldom/xmldom';
import type { NightFrame } from '../../model/night.js';

/** Namespaces of ISO 16684-1. */
const NS = {
  x: 'adobe:ns:meta/',
  rdf: 'http://www.w3.org/1999/02/22-rdf-syntax-ns#',
  xmp: 'http://ns.adobe.com/xap/1.0/',
  dc: 'http://purl.org/dc/elements/1.1/',
  xml: 'http://www.w3.org/XML/1998/namespace',
} as const;

const EMPTY = `<x:xmpmeta xmlns:x="${NS.x}"><rdf:RDF xmlns:rdf="${NS.rdf}"><rdf:Description rdf:about=""/></rdf:RDF></x:xmpmeta>`;

/** Begins our line in a description, so that a second run finds it again. */
const OURS = 'paintstop:';

/**
 * Sidecar text (XMP, ISO 16684-1) with the frame's rating and a line in its description; every other property of `existing` stays; and the
 * rating that was there, if we did not write it. Null when `existing` is no XMP that can be understood: then it must be left alone.
 */
export function sidecarFor(
  frame: NightFrame,
  existing: string | null,
): { readonly text: string; readonly othersRating: number | null } | null {
  const document = parse(existing ?? EMPTY);
  const root = document?.getElementsByTagNameNS(NS.rdf, 'RDF')[0];
  if (!document || !root) return null;
  // A description inside another one is of something else: what the frame was made from, a person.
  const all = childrenOf(root, NS.rdf, 'Description');
  const main = all[0];
  if (main === undefined) return null;
  const before = ratingOf(all);
  const othersRating = isDescribed(all) ? null : before;
  // Who has rejected a frame has looked at it.
  if (before !== REJECTED) setRating(all, main, frame.grade.rating);
  setLine(document, all, main, `${OURS} ${lineOf(frame)}`);
  const body = new XMLSerializer().serializeToString(document).replace(/^<\?xml[^>]*\?>\s*/, '');
  return { text: `<?xml version="1.0" encoding="UTF-8"?>\n${body}\n`, othersRating };
}

function lineOf({ grade }: NightFrame): string {
  const reasons = grade.reasons.map(({ says }) => says).join('; ');
  return `score ${String(grade.score)} of 100${reasons === '' ? '' : `: ${reasons}`}`;
}

function parse(text: string): Document | null {
  try {
    const onError = (level: string): void => {
      if (level !== 'warning') throw new Error('no XML');
    };
    return new DOMParser({ onError }).parseFromString(text.replace(/^\uFEFF/, ''), 'text/xml');
  } catch {
    return null;
  }
}

/** xmp:Rating of a frame that the photographer rejected (ISO 16684-1, 8.4). */
const REJECTED = -1;

function ratingOf(descriptions: readonly Element[]): number | null {
  for (const description of descriptions) {
    const told =
      description.getAttributeNodeNS(NS.xmp, 'Rating')?.value ??
      childrenOf(description, NS.xmp, 'Rating')[0]?.textContent ??
      '';
    if (told.trim() !== '' && Number.isFinite(Number(told))) return Number(told);
  }
  return null;
}

/** Our line is in a description: the rating beside it is ours. */
function isDescribed(descriptions: readonly Element[]): boolean {
  return descriptions.some((own) => (childOf(own, NS.dc, 'description')?.textContent ?? '').includes(OURS));
}

/** A simple property is an attribute or an element of any description (ISO 16684-1, 7.4 and 7.9.2.2): all that are there are set. */
function setRating(descriptions: readonly Element[], main: Element, rating: number): void {
  let found = false;
  for (const description of descriptions) {
    const attribute = description.getAttributeNodeNS(NS.xmp, 'Rating');
    if (attribute) attribute.value = String(rating);
    const elements = childrenOf(description, NS.xmp, 'Rating');
    for (const element of elements) element.textContent = String(rating);
    found ||= attribute !== null || elements.length > 0;
  }
  if (!found) main.setAttributeNS(NS.xmp, prefixed(main, NS.xmp, 'xmp', 'Rating'), String(rating));
}

/** Adds or renews our line in dc:description, the x-default of a language alternative. */
function setLine(document: Document, descriptions: readonly Element[], main: Element, line: string): void {
  let property = descriptions.map((own) => childOf(own, NS.dc, 'description')).find((own) => own !== null) ?? null;
  if (property === null) {
    property = document.createElementNS(NS.dc, prefixed(main, NS.dc, 'dc', 'description'));
    main.appendChild(property);
    // One that stands as an attribute moves into the element: a property stands once.
    for (const own of descriptions) {
      const attribute = own.getAttributeNodeNS(NS.dc, 'description');
      if (attribute === null) continue;
      property.textContent = attribute.value;
      own.removeAttributeNode(attribute);
    }
  }
  let alternatives = childOf(property, NS.rdf, 'Alt');
  if (alternatives === null) {
    const text = property.textContent ?? '';
    while (property.firstChild) property.removeChild(property.firstChild);
    alternatives = document.createElementNS(NS.rdf, 'rdf:Alt');
    property.appendChild(alternatives);
    if (text.trim() !== '') alternatives.appendChild(item(document, text.trim()));
  }
  const items = childrenOf(alternatives, NS.rdf, 'li');
  const standing = items.find((own) => own.getAttributeNS(NS.xml, 'lang') === 'x-default');
  if (standing === undefined) {
    const fresh = item(document, line);
    alternatives.insertBefore(fresh, alternatives.firstChild);
    return;
  }
  const others = (standing.textContent ?? '').split('\n').filter((own) => !own.startsWith(OURS));
  standing.textContent = [...others.filter((own, n) => own !== '' || n < others.length - 1), line].join('\n');
}

function item(document: Document, text: string): Element {
  const own = document.createElementNS(NS.rdf, 'rdf:li');
  own.setAttributeNS(NS.xml, 'xml:lang', 'x-default');
  own.textContent = text;
  return own;
}

function childOf(parent: Element, namespace: string, name: string): Element | null {
  return childrenOf(parent, namespace, name)[0] ?? null;
}

function childrenOf(parent: Element, namespace: string, name: string): Element[] {
  return (Array.from(parent.childNodes) as Element[]).filter(
    (node) => node.namespaceURI === namespace && node.localName === name,
  );
}

/** The prefix that the sidecar already uses for a namespace, else the customary one. */
function prefixed(element: Element, namespace: string, usual: string, name: string): string {
  const prefix = element.lookupPrefix(namespace);
  return `${prefix ?? usual}:${name}`;
}
