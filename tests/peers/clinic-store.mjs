// What the test clinic keeps: Medplum's in-memory repository plus the three things a clinic needs and it lacks.
//
//   - Nothing unsound is stored: every resource is validated on its way in, whichever request carried it.
//   - A transaction is all or nothing: what a failed one had already written is taken back.
//   - A search by identifier stays fast: the repository asks every stored resource in turn, which at a few thousand
//     resources makes each conditional create last seconds.
//
// Which resources match, what a version is and when a condition fails is decided by the library alone.

import {
  businessRule,
  convertToSearchableTokens,
  evalFhirPathTyped,
  getSearchParameter,
  OperationOutcomeError,
  Operator,
  splitSearchOnComma,
  toTypedValue,
  validateResource,
} from '@medplum/core';
import { MemoryRepository } from '@medplum/fhir-router';

export class ClinicStore extends MemoryRepository {
  /** Resource versions stored and kept, so not those of a transaction that was taken back. */
  writes = 0;

  /** Resources that contain this text anywhere are refused; empty refuses nothing. */
  refuseNote = '';

  // How to take back each write of the transaction under way, oldest first; undefined outside of one.
  #journal;

  // Resource type -> identifier value in lower case -> ids of the resources that carry it.
  #idsByIdentifier = new Map();

  /** Number of resources stored now, by type. */
  countByType() {
    const sizes = [...this.resources].map(([type, resources]) => [type, resources.size]);
    return Object.fromEntries(sizes.filter(([, size]) => size > 0));
  }

  /** Every write ends here: the library's updates and patches store their result through createResource too. */
  async createResource(resource, options) {
    // Only a create comes with options. Its id and version are the server's to choose; in a bundle the library has
    // already chosen the id, and says so.
    const incoming = options ? withoutServerFields(resource, options.assignedId) : resource;
    if (this.refuseNote && JSON.stringify(incoming).includes(this.refuseNote)) {
      throw new OperationOutcomeError(businessRule('refused', 'This clinic refuses the content of this resource'));
    }
    validateResource(incoming);

    incoming.id ??= this.generateId();
    const { resourceType, id } = incoming;
    this.#journalState(resourceType, id);
    const before = this.resources.get(resourceType)?.get(id);
    const stored = await super.createResource(incoming);
    this.#reindex(resourceType, id, before, stored);
    this.writes += 1;
    return stored;
  }

  async deleteResource(resourceType, id) {
    const before = this.resources.get(resourceType)?.get(id);
    if (before) {
      this.#journalState(resourceType, id);
      this.writes += 1;
    }
    await super.deleteResource(resourceType, id);
    this.#reindex(resourceType, id, before, undefined);
  }

  /** Calls must not overlap: the journal belongs to whichever transaction is under way. */
  async withTransaction(callback) {
    // The library opens one per conditional create too; inside a bundle's transaction that one is only a part.
    if (this.#journal) return callback();
    this.#journal = [];
    try {
      return await callback();
    } catch (error) {
      for (const undo of this.#journal.reverse()) undo();
      throw error;
    } finally {
      this.#journal = undefined;
    }
  }

  async search(request) {
    const candidates = this.#candidates(request);
    if (!candidates) return super.search(request);
    // The library's own search, over a stand-in that holds only what can match.
    const narrowed = { resources: new Map([[request.resourceType, candidates]]) };
    return MemoryRepository.prototype.search.call(narrowed, request);
  }

  #journalState(resourceType, id) {
    if (!this.#journal) return;
    const before = this.resources.get(resourceType)?.get(id);
    // A copy: the library turns this array around in place whenever somebody reads the history.
    const versions = [...(this.history.get(resourceType)?.get(id) ?? [])];
    const writes = this.writes;
    this.#journal.push(() => {
      const resources = this.resources.get(resourceType);
      const after = resources?.get(id);
      if (before) resources.set(id, before);
      else resources?.delete(id);
      const histories = this.history.get(resourceType);
      if (versions.length > 0) histories.set(id, versions);
      else histories?.delete(id);
      this.#reindex(resourceType, id, after, before);
      this.writes = writes;
    });
  }

  #reindex(resourceType, id, before, after) {
    let ids = this.#idsByIdentifier.get(resourceType);
    if (!ids) this.#idsByIdentifier.set(resourceType, (ids = new Map()));
    for (const value of identifierValues(before)) {
      ids.get(value)?.delete(id);
      if (ids.get(value)?.size === 0) ids.delete(value);
    }
    for (const value of identifierValues(after)) {
      if (!ids.has(value)) ids.set(value, new Set());
      ids.get(value).add(id);
    }
  }

  /** The stored resources that can match, or undefined where only looking at all of them will tell. */
  #candidates({ resourceType, filters = [] }) {
    const filter = filters.find(({ code, operator }) => code === 'identifier' && operator === Operator.EQUALS);
    if (!filter || !getSearchParameter(resourceType, 'identifier')) return undefined;
    const candidates = new Map();
    for (const wanted of splitSearchOnComma(filter.value)) {
      const value = wanted.includes('|') ? wanted.split('|')[1] : wanted;
      if (!value) return undefined; // "system|" asks for every value of that system
      for (const id of this.#idsByIdentifier.get(resourceType)?.get(value.toLowerCase()) ?? []) {
        candidates.set(id, this.resources.get(resourceType).get(id));
      }
    }
    return candidates;
  }
}

/** The values under which the library will find this resource by identifier, in lower case as it compares them. */
function identifierValues(resource) {
  const parameter = resource && getSearchParameter(resource.resourceType, 'identifier');
  if (!parameter) return [];
  const tokens = convertToSearchableTokens(evalFhirPathTyped(parameter.expression, [toTypedValue(resource)]));
  return tokens.filter(({ value }) => value).map(({ value }) => value.toLowerCase());
}

function withoutServerFields(resource, keepId) {
  const copy = { ...resource };
  if (!keepId) delete copy.id;
  if (copy.meta) {
    const { versionId, lastUpdated, ...meta } = copy.meta;
    copy.meta = meta;
    if (Object.keys(meta).length === 0) delete copy.meta;
  }
  return copy;
}
