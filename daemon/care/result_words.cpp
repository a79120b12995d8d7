#include "daemon/care/result_words.hpp"

namespace nightferry::care {

std::string_view word_for(SlotFate fate) {
    switch (fate) {
        case SlotFate::given:
            return "given";
        case SlotFate::held:
            return "held";
        case SlotFate::missed:
            return "missed";
        case SlotFate::undecided:
            return "undecided";
        case SlotFate::no_record:
            return "no_record";
        case SlotFate::due:
            return "due";
    }
    return {};
}

std::string_view word_for(Timing timing) {
    switch (timing) {
        case Timing::on_time:
            return "on_time";
        case Timing::early:
            return "early";
        case Timing::late:
            return "late";
        case Timing::very_late:
            return "very_late";
    }
    return {};
}

std::string_view word_for(DoubleKind kind) {
    switch (kind) {
        case DoubleKind::duplicate_entry:
            return "duplicate_entry";
        case DoubleKind::second_injection:
            return "second_injection";
    }
    return {};
}

std::string_view word_for(AmountVerdict verdict) {
    switch (verdict) {
        case AmountVerdict::match:
            return "match";
        case AmountVerdict::deviates:
            return "deviates";
        case AmountVerdict::large:
            return "large";
        case AmountVerdict::possible_tenfold:
            return "possible_tenfold";
        case AmountVerdict::not_comparable:
            return "not_comparable";
    }
    return {};
}

std::string_view word_for(SiteConcern concern) {
    switch (concern) {
        case SiteConcern::near_navel:
            return "near_navel";
        case SiteConcern::close_to_recent:
            return "close_to_recent";
        case SiteConcern::same_side:
            return "same_side";
        case SiteConcern::in_bruise:
            return "in_bruise";
        case SiteConcern::resting:
            return "resting";
        case SiteConcern::excluded:
            return "excluded";
        case SiteConcern::other_region:
            return "other_region";
        case SiteConcern::spacing_not_assessable:
            return "spacing_not_assessable";
    }
    return {};
}

std::string_view word_for(Trend trend) {
    switch (trend) {
        case Trend::first:
            return "first";
        case Trend::growing:
            return "growing";
        case Trend::shrinking:
            return "shrinking";
        case Trend::steady:
            return "steady";
        case Trend::resolved:
            return "resolved";
        case Trend::not_measured:
            return "not_measured";
    }
    return {};
}

std::string_view word_for(VialConcern concern) {
    switch (concern) {
        case VialConcern::unknown:
            return "unknown";
        case VialConcern::not_named:
            return "not_named";
        case VialConcern::other_medicine:
            return "other_medicine";
        case VialConcern::after_in_use:
            return "after_in_use";
        case VialConcern::after_expiry:
            return "after_expiry";
        case VialConcern::overdrawn:
            return "overdrawn";
    }
    return {};
}

}  // namespace nightferry::care
