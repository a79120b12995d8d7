// How results are called in answers and reports; config/report-format.md says what each word means.
#pragma once

#include <string_view>

#include "daemon/care/adherence.hpp"
#include "daemon/care/lesions.hpp"
#include "daemon/care/order_check.hpp"
#include "daemon/care/sites.hpp"
#include "daemon/care/timeline.hpp"
#include "daemon/care/vials.hpp"

namespace nightferry::care {

std::string_view word_for(SlotFate fate);
std::string_view word_for(Timing timing);
std::string_view word_for(DoubleKind kind);
std::string_view word_for(AmountVerdict verdict);
std::string_view word_for(SiteConcern concern);
std::string_view word_for(Trend trend);
std::string_view word_for(VialConcern concern);

}  // namespace nightferry::care
