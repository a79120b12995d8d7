#include "daemon/core/result.hpp"

#include <stdexcept>

namespace nightferry {

void throw_exception_from_error(const Error& error, const boost::source_location& where) {
    throw std::logic_error("unchecked error at " + std::string(where.file_name()) + ":" +
                           std::to_string(where.line()) + ": " + error.detail);
}

}  // namespace nightferry
