#include "daemon/care/flag_list.hpp"

namespace nightferry::care {

void flag_patients(FlagList& flags, std::span<const LeftOut> left_out) {
    for (const LeftOut& one : left_out) {
        flags.add(FlagKind::patient_record, one.clinic + ":" + to_text(one.since), one.since,
                  "Nothing that is recorded here reaches " + one.clinic + " for now: " + one.because +
                      ". It is kept, and sent once that is put right.",
                  {});
    }
}

}  // namespace nightferry::care
