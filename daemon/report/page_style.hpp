// How pages look: ink on paper, and shapes rather than colours. Used inside this room only.
#pragma once

#include "daemon/report/html.hpp"

namespace nightferry::report {

extern const Html::Fixed page_style;

}  // namespace nightferry::report
