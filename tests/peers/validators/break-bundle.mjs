// Operators that break one published invariant of Bundle. The place of most is the Bundle, on which they are defined;
// of bdl-5 and bdl-8 it is the entry. R5 split bdl-3 and bdl-4 into bdl-3a to bdl-3d, which overlap with other rules:
// where a breach would break two at once there is no operator.

import { Numeral, copy } from './lossless-json.mjs';
import { holdsLocalReference, spot } from './operator.mjs';

const OLD = ['R4', 'R4B'];
const NEW = ['R5'];
const WITH_REQUEST = ['batch', 'transaction', 'history'];
const WITH_RESPONSE = ['batch-response', 'transaction-response', 'history'];
const OF_CONTENT = ['document', 'message', 'searchset', 'collection'];

const REQUEST = { method: 'GET', url: 'Patient/1' };
const RESPONSE = { status: '200' };

export const operators = [
  bundle(
    'total-of-no-search',
    'bdl-1',
    ({ value }) => !['searchset', 'history'].includes(value.type),
    (object) => {
      object.total = new Numeral('3');
    },
  ),
  bundle(
    'search-of-no-search',
    'bdl-2',
    ({ value }) => value.type !== 'searchset' && value.entry,
    (object) => {
      object.entry[0].search = { mode: 'match' };
    },
  ),
  each(
    'request-missing',
    'bdl-3',
    OLD,
    (entry, type) => WITH_REQUEST.includes(type) && hasRest(entry, 'request'),
    without('request'),
  ),
  each(
    'request-not-due',
    'bdl-3',
    OLD,
    (entry, type) => !WITH_REQUEST.includes(type),
    (entry) => (entry.request = { ...REQUEST }),
  ),
  each(
    'response-missing',
    'bdl-4',
    OLD,
    (entry, type) => WITH_RESPONSE.includes(type) && hasRest(entry, 'response'),
    without('response'),
  ),
  each(
    'response-not-due',
    'bdl-4',
    OLD,
    (entry, type) => !WITH_RESPONSE.includes(type),
    (entry) => (entry.response = { ...RESPONSE }),
  ),
  each(
    'request-in-content',
    'bdl-3a',
    NEW,
    (entry, type) => OF_CONTENT.includes(type),
    (entry) => (entry.request = { ...REQUEST }),
  ),
  each(
    'response-in-content',
    'bdl-3a',
    NEW,
    (entry, type) => OF_CONTENT.includes(type),
    (entry) => (entry.response = { ...RESPONSE }),
  ),
  each(
    'history-without-response',
    'bdl-3b',
    NEW,
    (entry, type) => type === 'history' && hasRest(entry, 'response'),
    without('response'),
  ),
  each(
    'history-delete-with-resource',
    'bdl-3b',
    NEW,
    (entry, type) => type === 'history' && entry.resource,
    (entry) => (entry.request.method = 'DELETE'),
  ),
  each('action-without-request', 'bdl-3c', NEW, (entry, type) => isAction(type) && entry.resource, without('request')),
  each(
    'post-without-resource',
    'bdl-3c',
    NEW,
    (entry, type) => isAction(type) && canLose(entry, 'resource') && entry.request,
    without('resource'),
  ),
  each(
    'get-with-resource',
    'bdl-3c',
    NEW,
    (entry, type) => isAction(type) && entry.resource,
    (entry) => (entry.request.method = 'GET'),
  ),
  each(
    'answer-without-response',
    'bdl-3d',
    NEW,
    (entry, type) => /-response$/.test(type) && hasRest(entry, 'response'),
    without('response'),
  ),
  adding(
    'entry-of-address-only',
    'bdl-5',
    OLD,
    ({ value }) => OF_CONTENT.includes(value.type),
    () => ({ fullUrl: 'urn:uuid:aaaaaaaa-bbbb-4ccc-8ddd-eeeeeeeeeeee' }),
  ),
  adding(
    'entry-of-id-only',
    'bdl-5',
    OLD,
    ({ value }) => OF_CONTENT.includes(value.type),
    () => ({ id: 'x', link: [{ relation: 'self', url: 'http://example.org/' }] }),
  ),
  bundle(
    'entry-twice',
    'bdl-7',
    ({ value }) => value.type !== 'history' && value.entry?.[0].fullUrl,
    (object) => {
      object.entry.push(copy(object.entry[0]));
    },
  ),
  bundle('address-twice', 'bdl-7', hasTwoPlainEntries, (object) => {
    object.entry[1].fullUrl = object.entry[0].fullUrl;
  }),
  each(
    'versioned-address',
    'bdl-8',
    undefined,
    (entry) => /^https?:/.test(entry.fullUrl ?? ''),
    (entry) => (entry.fullUrl += '/_history/1'),
    true,
  ),
  ofType('document-without-identifier', 'bdl-9', 'document', (object) => delete object.identifier),
  ofType('document-without-identifier-system', 'bdl-9', 'document', (object) => delete object.identifier.system),
  ofType('document-without-identifier-value', 'bdl-9', 'document', (object) => delete object.identifier.value),
  ofType('document-without-timestamp', 'bdl-10', 'document', (object) => delete object.timestamp),
  headless('document-without-composition', 'bdl-11', 'document', 'Composition'),
  headless('message-without-header', 'bdl-12', 'message', 'MessageHeader'),
  headless('notification-without-status', 'bdl-13', 'subscription-notification', 'SubscriptionStatus', NEW),
  bundle(
    'history-of-a-patch',
    'bdl-14',
    ({ value }) => value.type === 'history' && value.entry?.length === 1 && value.entry[0].resource,
    (object) => {
      object.entry[0].request.method = 'PATCH';
    },
    NEW,
  ),
  each(
    'content-without-address',
    'bdl-15',
    NEW,
    (entry, type) => OF_CONTENT.includes(type) && canLose(entry, 'fullUrl'),
    without('fullUrl'),
  ),
  issues('issues-of-error', 'bdl-16', 'error', ({ value }) => value.type !== 'document'),
  issues('issues-in-document', 'bdl-17', 'information', ({ value }) => value.type === 'document'),
  bundle(
    'search-without-self-link',
    'bdl-18',
    ({ value }) => value.type === 'searchset' && value.link,
    (object) => {
      object.link = object.link.filter(({ relation }) => relation !== 'self');
      if (object.link.length === 0) delete object.link;
    },
    NEW,
  ),
];

function bundle(name, rule, fits, edit, releases) {
  const find = ({ objects }) =>
    objects.filter((node) => node.shape === 'Bundle' && fits(node)).map((node) => spot(node, node.expression, edit));
  return { name, rule, find, ...(releases && { releases }) };
}

function ofType(name, rule, type, edit, releases) {
  return bundle(name, rule, ({ value }) => value.type === type, edit, releases);
}

// The first entry goes, and one of another type is first then.
function headless(name, rule, type, head, releases) {
  const fits = ({ value }) => value.type === type && (value.entry?.[1]?.resource?.resourceType ?? head) !== head;
  return bundle(name, rule, fits, (object) => object.entry.splice(0, 1), releases);
}

function each(name, rule, releases, fits, edit, atEntry = false) {
  const find = ({ objects }) =>
    objects
      .filter(({ shape }) => shape === 'Bundle')
      .flatMap((node) =>
        (node.value.entry ?? []).flatMap((entry, index) => {
          if (!fits(entry, node.value.type)) return [];
          const place = atEntry ? `${node.expression}.entry[${index}]` : node.expression;
          return [spot(node, place, (object) => edit(object.entry[index]))];
        }),
      );
  return { name, rule, find, ...(releases && { releases }) };
}

function adding(name, rule, releases, fits, make) {
  const find = ({ objects }) =>
    objects
      .filter((node) => node.shape === 'Bundle' && fits(node))
      .map((node) => {
        const place = `${node.expression}.entry[${node.value.entry?.length ?? 0}]`;
        return spot(node, place, (object) => (object.entry = [...(object.entry ?? []), make()]));
      });
  return { name, rule, find, releases };
}

function issues(name, rule, severity, fits) {
  const outcome = { resourceType: 'OperationOutcome', issue: [{ severity, code: 'processing' }] };
  return bundle(name, rule, fits, (object) => (object.issues = copy(outcome)), NEW);
}

function without(part) {
  return (entry) => delete entry[part];
}

function canLose(entry, part) {
  return entry[part] !== undefined && !holdsLocalReference(entry[part]);
}

// Something else must stay in the entry (bdl-5).
function hasRest(entry, part) {
  const rest = ['resource', 'request', 'response'].filter((name) => name !== part);
  return entry[part] !== undefined && rest.some((name) => entry[name] !== undefined);
}

function isAction(type) {
  return type === 'transaction' || type === 'batch';
}

function hasTwoPlainEntries({ value }) {
  const [first, second] = value.entry ?? [];
  const plain = (entry) => entry?.fullUrl && entry.resource?.meta?.versionId === undefined;
  return value.type !== 'history' && plain(first) && plain(second) && second.fullUrl !== first.fullUrl;
}
