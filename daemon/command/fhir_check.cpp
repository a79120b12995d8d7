#include "daemon/command/fhir_check.hpp"

#include <algorithm>
#include <cctype>
#include <cstdio>
#include <iostream>

#include "daemon/command/bounded_input.hpp"
#include "daemon/command/resource_files.hpp"
#include "daemon/core/exit_codes.hpp"
#include "daemon/core/words.hpp"
#include "fhir/check/outcome.hpp"
#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace check = fhir::check;
namespace json = fhir::json;

namespace {

// The largest published Bundle has 35 MB; an attachment may have many.
constexpr json::Limits limits{1 << 28, 256, 20'000'000, 1 << 28};

// Goes through files and counts what it finds.
class Checker {
 public:
    explicit Checker(const FhirCheck& wanted) : wanted_(wanted) { options_.warnings = wanted.warnings; }

    void path(const std::string& path);
    int finish();

 private:
    void file(const std::string& file);
    void whole(std::istream& input, const std::string& source);
    void lines(std::istream& input, const std::string& source);
    // `line` is where the text begins in its file, from 1.
    void resource(std::string_view text, const std::string& source, std::size_t line);
    void print(const check::Report& report, std::string_view text, const std::string& source,
               std::size_t line) const;
    void print_no_json(const json::ReadError& error, const std::string& source, std::size_t line);
    void not_looked_at(const std::string& source, const std::string& why);

    const FhirCheck& wanted_;
    check::Options options_;
    std::size_t valid_ = 0;
    std::size_t invalid_ = 0;
    std::size_t no_json_ = 0;
    std::size_t not_looked_at_ = 0;
};

void print_line(const json::Document& document) {
    std::printf("%s\n", json::write(document.root()).c_str());
}

std::string place(const std::string& source, std::size_t line, std::size_t column) {
    return source + ':' + std::to_string(line) + ':' + std::to_string(column);
}

void Checker::path(const std::string& path) {
    if (path == "-" || !is_folder(path)) {
        file(path);
        return;
    }
    const ResourceFiles found = resource_files_below(path);
    for (const Unreachable& one : found.unreachable)
        not_looked_at(one.path, one.why);
    if (found.files.empty() && found.unreachable.empty())
        not_looked_at(path, "no .json or .ndjson files below this folder");
    for (const std::string& one : found.files)
        file(one);
}

void Checker::file(const std::string& file) {
    const std::string source = file == "-" ? "standard input" : file;
    try {
        InputFile opened(file);
        std::istream& input = file == "-" ? std::cin : opened.stream();
        if (!input) return not_looked_at(source, opened.why_not());
        if (wanted_.resource_per_line || holds_lines(file)) {
            lines(input, source);
        } else {
            whole(input, source);
        }
    } catch (const std::bad_alloc&) {
        not_looked_at(source, "there is not enough memory for it");
    }
}

void Checker::whole(std::istream& input, const std::string& source) {
    std::string text;
    switch (read_whole(input, limits.bytes, text)) {
        case Bounded::done:
            resource(text, source, 1);
            return;
        case Bounded::too_long:
            return not_looked_at(source, "it is longer than " + std::to_string(limits.bytes >> 20) + " MiB");
        case Bounded::failed:
            return not_looked_at(source, "reading it failed");
    }
}

void Checker::lines(std::istream& input, const std::string& source) {
    std::string text;
    for (std::size_t line = 1;; ++line) {
        switch (read_line(input, limits.bytes, text)) {
            case Bounded::done:
                break;
            case Bounded::too_long:
                return not_looked_at(source, "line " + std::to_string(line) +
                                                 " and what follows: it is longer than " +
                                                 std::to_string(limits.bytes >> 20) + " MiB");
            case Bounded::failed:
                if (!input.eof()) not_looked_at(source, "reading it failed");
                return;
        }
        if (text.find_first_not_of(" \t\r") != std::string::npos) resource(text, source, line);
    }
}

void Checker::resource(std::string_view text, const std::string& source, std::size_t line) {
    const auto document = json::read(text, limits);
    if (!document) return print_no_json(document.error(), source, line);
    const check::Report report = check::validate(document->root(), wanted_.release, options_);
    ++(report.valid() ? valid_ : invalid_);
    print(report, text, source, line);
}

void Checker::print(const check::Report& report, std::string_view text, const std::string& source,
                    std::size_t line) const {
    if (wanted_.as_outcome) {
        json::Document outcome;
        check::put_outcome(outcome.root(), report, {source, text, line});
        print_line(outcome);
        return;
    }
    json::Positions positions(text);
    for (const check::Issue& issue : report.issues) {
        const json::Position at = positions.at(issue.offset);
        std::printf("%s: %s: %s: %s [%s]\n", place(source, line + at.line - 1, at.column).c_str(),
                    std::string(word_for(issue.rule.severity)).c_str(), issue.expression.c_str(),
                    issue.text.c_str(), std::string(issue.rule.key).c_str());
    }
    if (report.cut_short) {
        std::printf("%s: there is more; only the first %zu errors and %zu warnings are listed\n",
                    source.c_str(), options_.issues_max, options_.issues_max);
    }
}

void Checker::print_no_json(const json::ReadError& error, const std::string& source, std::size_t line) {
    ++no_json_;
    const std::string where = place(source, line + error.position.line - 1, error.position.column);
    if (!wanted_.as_outcome) {
        std::printf("%s: error: %s [json]\n", where.c_str(), error.message.c_str());
        return;
    }
    json::Document outcome;
    check::put_outcome(outcome.root(), error.message, where);
    print_line(outcome);
}

void Checker::not_looked_at(const std::string& source, const std::string& why) {
    ++not_looked_at_;
    std::fprintf(stderr, "%s: not looked at: %s\n", source.c_str(), why.c_str());
}

int Checker::finish() {
    if (!wanted_.as_outcome) {
        const std::string release(fhir::spec::name_of(wanted_.release));
        std::string closing = counted(valid_ + invalid_, "resource", "resources") + " checked against " +
                              release + ": " + std::to_string(valid_) + " valid, " +
                              std::to_string(invalid_) + " not";
        if (no_json_ > 0) closing += "; " + std::to_string(no_json_) + " could not be read as JSON";
        if (not_looked_at_ > 0) closing += "; " + std::to_string(not_looked_at_) + " not looked at";
        std::printf("%s\n", closing.c_str());
    }
    if (std::fflush(stdout) != 0 || std::ferror(stdout) != 0) return as_status(ExitCode::io);
    if (not_looked_at_ > 0) return as_status(ExitCode::unavailable);
    return as_status(invalid_ + no_json_ > 0 ? ExitCode::bad_input : ExitCode::ok);
}

}  // namespace

std::optional<fhir::spec::Release> release_named(std::string_view name) {
    const auto same = [](char a, char b) { return std::toupper(static_cast<unsigned char>(a)) == b; };
    for (const fhir::spec::Release release : fhir::spec::releases) {
        const std::string_view known = fhir::spec::name_of(release);
        if (std::equal(name.begin(), name.end(), known.begin(), known.end(), same)) return release;
    }
    return std::nullopt;
}

int check_fhir(const FhirCheck& wanted) {
    Checker checker(wanted);
    for (const std::string& path : wanted.paths)
        checker.path(path);
    return checker.finish();
}

}  // namespace nightferry::command
