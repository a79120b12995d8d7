#include "fhir/exchange/prefer.hpp"

namespace nightferry::fhir::exchange {

std::string_view prefer(Return wanted) {
    switch (wanted) {
        case Return::minimal:
            return "return=minimal";
        case Return::representation:
            return "return=representation";
        case Return::operation_outcome:
            return "return=OperationOutcome";
    }
    return {};
}

}  // namespace nightferry::fhir::exchange
