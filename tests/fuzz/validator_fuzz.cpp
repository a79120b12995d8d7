// Whatever JSON can be read can be checked against every release: each issue leads to a value that is there,
// says something, and says the same of the same resource; and the OperationOutcome made of them is valid.
#include <algorithm>
#include <charconv>
#include <cstdint>
#include <string_view>

#include "fhir/check/outcome.hpp"
#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"
#include "tests/fuzz/require.hpp"

namespace {

using namespace nightferry::fhir;
using nightferry::test::require;

const json::Value* child_at(const json::Value& holder, std::string_view token) {
    std::size_t index = 0;
    std::from_chars(token.data(), token.data() + token.size(), index);
    for (const json::Value& child : holder) {
        const bool found =
            holder.is(json::Kind::array) ? index-- == 0 : json::pointer_token(child.name()) == token;
        if (found) return &child;
    }
    return nullptr;
}

bool leads_somewhere(const json::Value& root, std::string_view pointer) {
    const json::Value* at = &root;
    while (!pointer.empty()) {
        pointer.remove_prefix(1);
        const auto end = std::min(pointer.find('/'), pointer.size());
        at = child_at(*at, pointer.substr(0, end));
        if (at == nullptr) return false;
        pointer.remove_prefix(end);
    }
    return true;
}

void check_issue(const check::Issue& issue, const json::Value& root, std::size_t size) {
    require(!issue.rule.key.empty() && !issue.rule.issue_type.empty(), "an issue names its rule");
    require(!issue.text.empty(), "an issue says what is wrong");
    require(!issue.expression.empty(), "an issue says where");
    require(issue.offset < size, "an issue's offset lies in the text");
    require(leads_somewhere(root, issue.pointer), "an issue's pointer leads to a value");
}

bool same(const check::Issue& a, const check::Issue& b) {
    return a.rule == b.rule && a.expression == b.expression && a.pointer == b.pointer && a.text == b.text;
}

void check_release(const json::Value& root, std::size_t size, spec::Release release) {
    check::Options options;
    const check::Report report = check::validate(root, release, options);
    // Errors and warnings are counted apart.
    require(report.issues.size() <= 2 * options.issues_max, "there are no more issues than were asked for");
    for (const check::Issue& issue : report.issues)
        check_issue(issue, root, size);

    const auto again = json::read(json::write(root), {1 << 28, 64, 1'000'000, 1 << 27});
    require(again.has_value(), "what was read can be written");
    const check::Report second = check::validate(again->root(), release, options);
    require(std::equal(report.issues.begin(), report.issues.end(), second.issues.begin(), second.issues.end(),
                       same),
            "the same resource has the same issues");

    options.warnings = false;
    require(check::validate(root, release, options).valid() == report.valid() || report.cut_short,
            "warnings do not decide");

    json::Document outcome;
    check::put_outcome(outcome.root(), report, {"here"});
    require(check::validate(outcome.root(), release).valid(), "the outcome is a valid resource");
}

}  // namespace

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
    const auto document = json::read({reinterpret_cast<const char*>(data), size});
    if (!document) return 0;
    for (const spec::Release release : spec::releases)
        check_release(document->root(), size, release);
    return 0;
}
