// [page]: where the recording page is served to phones in the home network, and in which language.
#include "config/sections.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::config {

namespace {

void read_address(TableReader& table, PageListener& page) {
    const std::string text =
        table.need_text("address", "this hub's address at home with a port, like \"192.168.1.10:8443\"");
    if (text.empty()) return;
    const auto listening = read_listening(text);
    if (!listening) {
        table.problem("address", in_quotes(text) +
                                     " is no address with a port; expected one like \"192.168.1.10:8443\" or "
                                     "\"[::]:8443\", in numbers");
        return;
    }
    if (listening->reach == Listening::Reach::open_internet) {
        table.problem("address",
                      in_quotes(text) +
                          " is an address of the open internet, and the page is for phones at home; "
                          "use the address that this hub has in the home network, or \"[::]:" +
                          std::to_string(listening->port) + "\"");
    }
    page.address = listening->address;
    page.port = listening->port;
}

SecretFile need_file(TableReader& table, std::string_view key, const std::filesystem::path& folder) {
    if (!table.has(key)) {
        table.need_text(key,
                        "a PEM file; 'nightferry new-certificate' makes this hub's certificate and its key");
        return {};
    }
    return read_secret_file(table, key, folder);
}

}  // namespace

std::optional<PageListener> read_page(TableReader& root, const std::filesystem::path& folder,
                                      std::vector<Problem>& problems) {
    const toml::table* found = root.table("page");
    if (found == nullptr) return std::nullopt;
    TableReader table(*found, "page", problems);
    PageListener page;
    read_address(table, page);
    page.certificate = need_file(table, "certificate", folder);
    page.key = need_file(table, "key", folder);
    if (const auto tag = table.text("language")) {
        const auto language = texts::language_tagged(*tag);
        if (!language)
            table.problem("language",
                          in_quotes(*tag) + " is no language of the page; expected \"en\" or \"de\"");
        page.language = language.value_or(texts::Language::english);
    }
    table.report_leftovers();
    return page;
}

}  // namespace nightferry::config
