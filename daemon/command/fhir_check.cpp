#include "daemon/command/fhir_check.hpp"

#include <algorithm>
#include <cstdio>
#include <filesystem>
#include <fstream>
#include <iostream>
#include <istream>
#include <iterator>
#include <string_view>

#include "daemon/core/exit_codes.hpp"
#include "fhir/check/outcome.hpp"
#include "fhir/check/validator.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace fs = std::filesystem;
namespace check = fhir::check;
namespace json = fhir::json;

namespace {

// A published Bundle may have 40 MB, an attachment many.
constexpr json::Limits limits{1 << 29, 256, 100'000'000, 1 << 28};

// Goes through files and counts what it finds.
class Checker {
 public:
    explicit Checker(const FhirCheck& wanted) : wanted_(wanted) { options_.warnings = wanted.warnings; }

    void path(const std::string& path);
    int finish() const;

 private:
    void file(const std::string& file);
    void lines(std::istream& input, const std::string& source);
    // `line` is where the text begins in its file, from 1.
    void resource(std::string_view text, const std::string& source, std::size_t line);
    void print(const check::Report& report, std::string_view text, const std::string& source,
               std::size_t line) const;
    void print_unreadable(const json::ReadError& error, const std::string& source, std::size_t line) const;

    const FhirCheck& wanted_;
    check::Options options_;
    std::size_t valid_ = 0;
    std::size_t invalid_ = 0;
    std::size_t unreadable_files_ = 0;
};

void print_line(const json::Document& document) {
    std::printf("%s\n", json::write(document.root()).c_str());
}

std::string place(const std::string& source, std::size_t line, std::size_t column) {
    return source + ':' + std::to_string(line) + ':' + std::to_string(column);
}

bool is_checked_by_name(const fs::path& file) {
    return file.extension() == ".json" || file.extension() == ".ndjson";
}

// The files below a folder in the order of their names, hidden ones left out.
std::vector<std::string> files_below(const fs::path& folder) {
    std::vector<std::string> files;
    std::error_code error;
    fs::recursive_directory_iterator at(folder, fs::directory_options::skip_permission_denied, error);
    for (const fs::recursive_directory_iterator end; !error && at != end; at.increment(error)) {
        const bool hidden = at->path().filename().string().starts_with('.');
        if (hidden && at->is_directory(error)) at.disable_recursion_pending();
        if (!hidden && at->is_regular_file(error) && is_checked_by_name(at->path()))
            files.push_back(at->path().string());
    }
    std::sort(files.begin(), files.end());
    return files;
}

void Checker::path(const std::string& path) {
    std::error_code error;
    if (path == "-" || !fs::is_directory(path, error)) {
        file(path);
        return;
    }
    const auto files = files_below(path);
    if (files.empty()) {
        std::fprintf(stderr, "%s: no .json or .ndjson files below this folder\n", path.c_str());
        ++unreadable_files_;
    }
    for (const std::string& one : files)
        file(one);
}

void Checker::file(const std::string& file) {
    const bool standard_input = file == "-";
    std::ifstream stream;
    if (!standard_input) stream.open(file, std::ios::binary);
    std::istream& input = standard_input ? std::cin : stream;
    const std::string source = standard_input ? "standard input" : file;
    if (input && (wanted_.resource_per_line || fs::path(file).extension() == ".ndjson")) {
        lines(input, source);
    } else if (input) {
        std::string text;
        text.assign(std::istreambuf_iterator<char>(input), {});
        if (input) resource(text, source, 1);
    }
    if (input || input.eof()) return;
    std::fprintf(stderr, "%s: cannot be read\n", source.c_str());
    ++unreadable_files_;
}

void Checker::lines(std::istream& input, const std::string& source) {
    std::string text;
    for (std::size_t line = 1; std::getline(input, text); ++line) {
        if (text.find_first_not_of(" \t\r") != std::string::npos) resource(text, source, line);
    }
}

void Checker::resource(std::string_view text, const std::string& source, std::size_t line) {
    const auto document = json::read(text, limits);
    if (!document) {
        ++invalid_;
        print_unreadable(document.error(), source, line);
        return;
    }
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
    for (const check::Issue& issue : report.issues) {
        const json::Position at = json::position_at(text, issue.offset);
        std::printf("%s: %s: %s: %s [%s]\n", place(source, line + at.line - 1, at.column).c_str(),
                    std::string(word_for(issue.rule.severity)).c_str(), issue.expression.c_str(),
                    issue.text.c_str(), std::string(issue.rule.key).c_str());
    }
    if (report.cut_short) std::printf("%s: there are more issues than are listed\n", source.c_str());
}

void Checker::print_unreadable(const json::ReadError& error, const std::string& source,
                               std::size_t line) const {
    const std::string where = place(source, line + error.position.line - 1, error.position.column);
    if (!wanted_.as_outcome) {
        std::printf("%s: error: %s [json]\n", where.c_str(), error.message.c_str());
        return;
    }
    json::Document outcome;
    check::put_outcome(outcome.root(), error.message, where);
    print_line(outcome);
}

int Checker::finish() const {
    if (!wanted_.as_outcome) {
        const std::string release(fhir::spec::name_of(wanted_.release));
        std::printf("%zu resources checked against %s: %zu valid, %zu not\n", valid_ + invalid_,
                    release.c_str(), valid_, invalid_);
    }
    if (unreadable_files_ > 0) return as_status(ExitCode::unavailable);
    return as_status(invalid_ > 0 ? ExitCode::bad_input : ExitCode::ok);
}

}  // namespace

int check_fhir(const FhirCheck& wanted) {
    Checker checker(wanted);
    for (const std::string& path : wanted.paths)
        checker.path(path);
    return checker.finish();
}

}  // namespace nightferry::command
