#include "daemon/sync/marks.hpp"

#include <array>

namespace nightferry::sync {

namespace {

std::array counts{
    MarkCount{"statement_without_answer", 0},
    MarkCount{"statement_unreadable", 0},
    MarkCount{"another_patient", 0},
    MarkCount{"patient_left_out", 0},
    MarkCount{"patient_not_shown", 0},
    MarkCount{"window_closed", 0},
    MarkCount{"stepped_down_to_batch", 0},
    MarkCount{"stepped_down_to_single", 0},
    MarkCount{"bundle_split", 0},
    MarkCount{"bundle_too_many_bytes", 0},
    MarkCount{"alone_after_refusal", 0},
    MarkCount{"alone_was_taken", 0},
    MarkCount{"tried_without_condition", 0},
    MarkCount{"taken_without_condition", 0},
    MarkCount{"provenance_refused", 0},
    MarkCount{"provenance_not_taken_at_all", 0},
    MarkCount{"only_taken_in", 0},
    MarkCount{"part_put_off", 0},
    MarkCount{"answer_without_match", 0},
    MarkCount{"found_instead_of_created", 0},
    MarkCount{"found_up_to_date", 0},
    MarkCount{"found_older", 0},
    MarkCount{"found_changed", 0},
    MarkCount{"found_several", 0},
    MarkCount{"found_nothing", 0},
    MarkCount{"not_there_though_confirmed", 0},
    MarkCount{"lost_and_written_again", 0},
    MarkCount{"deleted_there", 0},
    MarkCount{"answers_contradict", 0},
    MarkCount{"version_moved_on", 0},
    MarkCount{"waited_for_quiet", 0},
    MarkCount{"read_back_newest_missing", 0},
    MarkCount{"read_back_sample_missing", 0},
    MarkCount{"clock_in_doubt", 0},
    MarkCount{"request_cut_a_wait_short", 0},
    MarkCount{"disk_full_in_a_pass", 0},
    MarkCount{"storage_failed_in_a_pass", 0},
    MarkCount{"beyond_asking", 0},
    MarkCount{"nothing_offered", 0},
    MarkCount{"read_back_deleted", 0},
    MarkCount{"read_back_without_answer", 0},
    MarkCount{"search_not_offered", 0},
    MarkCount{"taken_bare", 0},
    MarkCount{"read_back_outlived_a_break", 0},
    MarkCount{"read_back_after_silence", 0},
    MarkCount{"connections_kept_short", 0},
    MarkCount{"got_through_on_short_connections", 0},
};
static_assert(counts.size() == static_cast<std::size_t>(Mark::last));

}  // namespace

void reached(Mark mark) {
    ++counts[static_cast<std::size_t>(mark)].times;
}

std::span<const MarkCount> mark_counts() {
    return counts;
}

}  // namespace nightferry::sync
