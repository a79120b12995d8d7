// The commands that take everything out of the logbook and back in, in open form.
#include <algorithm>
#include <cstdio>

#include "daemon/command/commands.hpp"
#include "daemon/command/query.hpp"
#include "daemon/core/words.hpp"
#include "daemon/report/tables.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::command {

namespace json = fhir::json;

namespace {

Error nothing_there() {
    return {Errc::not_found, "there is no entry to export"};
}

}  // namespace

Result<void> Commands::fetch_pages(const std::string& target,
                                   const std::function<Result<std::string>(const HttpAnswer&)>& take) {
    Progress progress(clock_, screen_of_this_process());
    std::string after;
    for (std::size_t pages = 1;; ++pages) {
        const auto page = channel_.get(target + query_of({{"after", after}, {"person", options_.person}}));
        if (!page) return page.error();
        if (page->status != 200) return error_in(*page);
        const auto last = take(*page);
        if (!last) return last.error();
        if (last->empty()) return {};
        after = *last;
        progress.tell(counted(pages, "page", "pages") + " of the logbook read");
    }
}

Result<std::string> Commands::export_ndjson(const Write& write) {
    std::size_t lines = 0;
    const auto fetched =
        fetch_pages("/v1/logbook/entries", [&](const HttpAnswer& page) -> Result<std::string> {
            lines += static_cast<std::size_t>(std::ranges::count(page.body, '\n'));
            if (const auto written = write(page.body); !written) return written.error();
            return std::string(header(page.headers, "X-Last"));
        });
    if (!fetched) return fetched.error();
    if (lines == 0) return nothing_there();
    return counted(lines, "revision", "revisions");
}

// A Bundle that is written as it comes, however large it becomes.
Result<std::string> Commands::export_fhir(const Write& write) {
    if (const auto begun = write(R"({"resourceType":"Bundle","type":"collection","entry":[)"); !begun)
        return begun.error();
    std::size_t parts = 0;
    std::size_t left_out = 0;
    const auto fetched = fetch_pages("/v1/logbook/fhir", [&](const HttpAnswer& page) -> Result<std::string> {
        const auto document = json::read(page.body);
        if (!document) return Error{Errc::storage, "the daemon's answer cannot be read"};
        for (const json::Value& part : document->root().items_at("parts")) {
            const auto written = write((parts++ == 0 ? "\n" : ",\n") + json::write(part));
            if (!written) return written.error();
        }
        for (const json::Value& id : document->root().items_at("left_out")) {
            ++left_out;
            std::fprintf(stderr, "nightferry: left out, since it cannot be made: %s\n",
                         std::string(id.text()).c_str());
        }
        return std::string(document->root().string_at("last"));
    });
    if (!fetched) return fetched.error();
    // A Bundle without entries may not have an empty list of them.
    if (parts == 0) return nothing_there();
    if (left_out > 0) std::fprintf(stderr, "nightferry: --ndjson has them all the same\n");
    if (const auto ended = write("\n]}\n"); !ended) return ended.error();
    return counted(parts, "resource", "resources");
}

int Commands::export_to_standard_output(Export what) {
    const auto written = (this->*what)([](std::string_view bytes) -> Result<void> {
        if (std::fwrite(bytes.data(), 1, bytes.size(), stdout) == bytes.size() && std::fflush(stdout) == 0)
            return {};
        return Error{Errc::storage, "standard output takes no more; what was written is not whole"};
    });
    if (!written) return not_there(written.error());
    std::fprintf(stderr, "Written: %s\n", written->c_str());
    return as_status(ExitCode::ok);
}

int Commands::export_to(const std::string& file, Export what) {
    if (file == "-") return export_to_standard_output(what);
    auto made = NewFile::begin(file);
    if (!made) return complain_of_new_file(made.error());
    const auto written = (this->*what)([&](std::string_view bytes) { return made->write(bytes); });
    if (!written) return not_there(written.error());
    if (const auto settled = made->settle(); !settled) return complain_of_new_file(settled.error());
    std::printf("Written: %s, %s\n", file.c_str(), written->c_str());
    return as_status(ExitCode::ok);
}

int Commands::export_entries() {
    if (options_.ndjson.empty() && options_.fhir.empty())
        return complain(ExitCode::usage, "say where it goes: --ndjson FILE, --fhir FILE or both");
    if (options_.ndjson == "-" && options_.fhir == "-")
        return complain(ExitCode::usage, "only one of the two can go to standard output");
    int status = 0;
    if (!options_.ndjson.empty()) status = export_to(options_.ndjson, &Commands::export_ndjson);
    if (status == 0 && !options_.fhir.empty()) status = export_to(options_.fhir, &Commands::export_fhir);
    if (channel_.was_alone()) std::fprintf(stderr, "(the daemon is not running; read from its logbook)\n");
    return status;
}

// So many lines at once that the daemon takes them; lines stay whole.
int Commands::hand_in_parts(std::string_view lines) {
    constexpr std::size_t part_bytes = 2 * 1024 * 1024;
    int status = 0;
    std::size_t first_line = 1;
    Progress progress(clock_, screen_of_this_process());
    while (!lines.empty()) {
        std::size_t end = lines.size();
        if (lines.size() > part_bytes) {
            const std::size_t feed = lines.rfind('\n', part_bytes);
            end = feed == std::string_view::npos ? lines.find('\n', part_bytes) : feed;
            end = end == std::string_view::npos ? lines.size() : end + 1;
        }
        const std::string_view part = lines.substr(0, end);
        if (!options_.as_json)
            std::printf("From line %zu of the file on, which is line 1 below: ", first_line);
        const int one = hand_in_bytes(std::string(part), "application/x-ndjson", report::answers_text);
        if (one != 0) status = one;
        // The rest would fare no better.
        if (one != 0 && one != as_status(ExitCode::bad_input)) return status;
        first_line += static_cast<std::size_t>(std::count(part.begin(), part.end(), '\n'));
        lines.remove_prefix(end);
        progress.tell(counted(first_line - 1, "line", "lines") + " handed in");
    }
    return status;
}

}  // namespace nightferry::command
