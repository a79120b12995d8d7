// Operators that break narratives: https://hl7.org/fhir/R4/narrative.html, the constraints txt-1 and txt-2 of
// Narrative.div. A div that is not well-formed or of another namespace is no limited XHTML either, so that txt-1 is the
// key for it; "value" would be as good a name.

import { nodesOf, spot } from './operator.mjs';

const XHTML = 'http://www.w3.org/1999/xhtml';

export const operators = [
  inside('narrative-script', 'txt-1', '<script>alert(1)</script>'),
  inside('narrative-event-attribute', 'txt-1', '<p onclick="alert(1)">x</p>'),
  inside('narrative-form', 'txt-1', '<form action="http://example.org/"><p>x</p></form>'),
  inside('narrative-iframe', 'txt-1', '<iframe src="http://example.org/"></iframe>'),
  inside('narrative-object', 'txt-1', '<object data="x"></object>'),
  inside('narrative-external-stylesheet', 'txt-1', '<link rel="stylesheet" href="http://example.org/x.css"/>'),
  inside('narrative-unbalanced', 'txt-1', '<p>x'),
  inside('narrative-crossed-tags', 'txt-1', '<b><i>x</b></i>'),
  inside('narrative-bare-ampersand', 'txt-1', '<p>a & b</p>'),
  inside('narrative-upper-case-script', 'txt-1', '<SCRIPT>alert(1)</SCRIPT>'),
  inside('narrative-unknown-element', 'txt-1', '<blink>x</blink>'),
  inside('narrative-attribute-without-quotes', 'txt-1', '<p class=x>x</p>'),
  inside('narrative-attribute-twice', 'txt-1', '<p class="x" class="y">x</p>'),
  inside('narrative-unknown-entity', 'txt-1', '<p>&nightferry;</p>'),
  inside('narrative-upper-case-event', 'txt-1', '<p ONCLICK="alert(1)">x</p>'),
  whole('narrative-text-behind', 'txt-1', `<div xmlns="${XHTML}"><p>x</p></div>x`),
  whole('narrative-two-roots', 'txt-1', `<div xmlns="${XHTML}">x</div><div xmlns="${XHTML}">y</div>`),
  whole('narrative-cut-short', 'txt-1', `<div xmlns="${XHTML}"><p>x</p>`),
  whole('narrative-other-namespace', 'txt-1', '<div xmlns="http://example.org/other"><p>x</p></div>'),
  whole('narrative-other-root', 'txt-1', `<p xmlns="${XHTML}">x</p>`),
  whole('narrative-doctype', 'txt-1', `<!DOCTYPE html><div xmlns="${XHTML}"><p>x</p></div>`),
  whole('narrative-plain-text', 'txt-1', 'x'),
  whole('narrative-empty', 'txt-2', `<div xmlns="${XHTML}"></div>`),
  whole('narrative-blank', 'txt-2', `<div xmlns="${XHTML}"> \n <p> </p></div>`),
];

function inside(name, rule, part) {
  return whole(name, rule, `<div xmlns="${XHTML}"><p>x</p>${part}</div>`);
}

function whole(name, rule, div) {
  const find = (context) =>
    nodesOf('Narrative')(context)
      .filter(({ value }) => typeof value.div === 'string' && !value.div.includes('#'))
      .map((node) => spot(node, `${node.expression}.div`, (object) => (object.div = div)));
  return { name, rule, find };
}
