// The style sheet, the script and the icon of the page, as they lie beside this file.
#pragma once

#include <string_view>

namespace nightferry::page {

extern const std::string_view style_sheet;
extern const std::string_view script;
extern const std::string_view icon;

}  // namespace nightferry::page
