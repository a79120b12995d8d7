// Marks at branches that are rarely taken, so that a long run in a simulated world can tell which of them it
// never came through. A mark costs one addition.
#pragma once

#include <cstdint>
#include <span>
#include <string_view>

namespace nightferry::sync {

enum class Mark {
    statement_without_answer,
    statement_unreadable,
    another_patient,
    patient_left_out,
    patient_not_shown,
    window_closed,
    stepped_down_to_batch,
    stepped_down_to_single,
    bundle_split,
    bundle_too_many_bytes,
    alone_after_refusal,
    alone_was_taken,
    tried_without_condition,
    taken_without_condition,
    provenance_refused,
    provenance_not_taken_at_all,
    only_taken_in,
    part_put_off,
    answer_without_match,
    found_instead_of_created,
    found_up_to_date,
    found_older,
    found_changed,
    found_several,
    found_nothing,
    not_there_though_confirmed,
    lost_and_written_again,
    deleted_there,
    answers_contradict,
    version_moved_on,
    waited_for_quiet,
    read_back_newest_missing,
    read_back_sample_missing,
    clock_in_doubt,
    request_cut_a_wait_short,
    disk_full_in_a_pass,
    storage_failed_in_a_pass,
    beyond_asking,
    nothing_offered,
    read_back_deleted,
    read_back_without_answer,
    search_not_offered,
    taken_bare,
    read_back_outlived_a_break,
    read_back_after_silence,
    connections_kept_short,
    got_through_on_short_connections,
    last,  // None; counts them.
};

void reached(Mark mark);

struct MarkCount {
    std::string_view name;
    std::uint64_t times;
};
std::span<const MarkCount> mark_counts();

}  // namespace nightferry::sync
