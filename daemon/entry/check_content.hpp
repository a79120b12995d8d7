// Reads what is particular to each kind of entry.
#pragma once

#include "daemon/entry/draft.hpp"
#include "daemon/entry/entry.hpp"
#include "daemon/entry/field_reader.hpp"

namespace nightferry::entry {

// Fills entry.what from the draft's fields; false, with problems reported, when it cannot.
bool read_content(FieldReader& fields, const Draft& draft, Kind kind, Entry& entry);

}  // namespace nightferry::entry
