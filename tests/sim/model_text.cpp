#include "tests/sim/model_text.hpp"

namespace nightferry::sim {

namespace json = fhir::json;

namespace {

constexpr std::string_view narrative =
    R"(,"text":{"status":"generated","div":"<div xmlns=\"http://www.w3.org/1999/xhtml\">A record</div>"})";

class TextWriter {
 public:
    TextWriter(std::string& out, bool trims_decimals) : out_(out), trims_(trims_decimals) {}

    void member(const json::Value& value) {
        out_ += ',';
        append_quoted(out_, value.name());
        out_ += ':';
        write(value);
    }

    void write(const json::Value& value) {
        switch (value.kind()) {
            case json::Kind::null:
                out_ += "null";
                return;
            case json::Kind::boolean:
                out_ += value.boolean() ? "true" : "false";
                return;
            case json::Kind::number:
                out_ += trims_ ? trimmed_decimal(value.text()) : value.text();
                return;
            case json::Kind::string:
                append_quoted(out_, value.text());
                return;
            case json::Kind::array:
            case json::Kind::object:
                write_children(value);
                return;
        }
    }

 private:
    void write_children(const json::Value& value) {
        const bool is_object = value.is(json::Kind::object);
        out_ += is_object ? '{' : '[';
        bool first = true;
        for (const json::Value& child : value) {
            if (!first) out_ += ',';
            first = false;
            if (is_object) {
                append_quoted(out_, child.name());
                out_ += ':';
            }
            write(child);
        }
        out_ += is_object ? '}' : ']';
    }

    std::string& out_;
    bool trims_;
};

}  // namespace

void append_quoted(std::string& out, std::string_view text) {
    out += '"';
    std::size_t from = 0;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const auto c = static_cast<unsigned char>(text[i]);
        if (c >= 0x20 && c != '"' && c != '\\') continue;
        out.append(text, from, i - from);
        from = i + 1;
        if (c >= 0x20) {
            out += '\\';
            out += text[i];
        } else {
            constexpr std::string_view digits = "0123456789abcdef";
            out += "\\u00";
            out += digits[c >> 4];
            out += digits[c & 15];
        }
    }
    out.append(text, from);
    out += '"';
}

std::string in_quotes(std::string_view text) {
    std::string out;
    append_quoted(out, text);
    return out;
}

std::string_view trimmed_decimal(std::string_view lexeme) {
    if (lexeme.find('.') == std::string_view::npos || lexeme.find_first_of("eE") != std::string_view::npos)
        return lexeme;
    while (lexeme.ends_with('0'))
        lexeme.remove_suffix(1);
    if (lexeme.ends_with('.')) lexeme.remove_suffix(1);
    return lexeme;
}

std::string stored_text(const json::Value& resource, std::string_view id, std::string_view version,
                        const Does& does) {
    std::string out;
    out.reserve(1500);
    TextWriter writer(out, does.trims_decimals);
    out += R"({"resourceType":)";
    append_quoted(out, resource.string_at("resourceType"));
    out += R"(,"id":)";
    append_quoted(out, id);
    const std::size_t before_meta = out.size();
    if (does.shows_versions) out.append(R"(,"versionId":)").append(in_quotes(version));
    if (does.decorates) out += R"(,"lastUpdated":"2026-01-01T00:00:00Z")";
    if (const json::Value* own = resource.find("meta")) {
        for (const json::Value& member : *own) {
            if (member.name() != "versionId" && member.name() != "lastUpdated") writer.member(member);
        }
    }
    if (out.size() > before_meta) {
        out.replace(before_meta, 1, R"(,"meta":{)");
        out += '}';
    }
    if (does.decorates && resource.find("text") == nullptr) out += narrative;
    for (const json::Value& member : resource) {
        const auto name = member.name();
        if (name != "resourceType" && name != "id" && name != "meta") writer.member(member);
    }
    out += '}';
    return out;
}

std::vector<Identifier> identifiers_of(const json::Value& resource) {
    std::vector<Identifier> found;
    for (const json::Value& identifier : resource.items_at("identifier")) {
        found.push_back(
            {std::string(identifier.string_at("system")), std::string(identifier.string_at("value"))});
    }
    return found;
}

std::string with_places(std::string_view text, const Places& places, bool& changed) {
    // Inside a text the quotes would be escaped, so this is always a member.
    constexpr std::string_view begin = R"("reference":"urn:uuid:)";
    constexpr std::size_t url_at = std::string_view(R"("reference":")").size();
    std::string out;
    std::size_t copied = 0;
    changed = false;
    for (auto at = text.find(begin); at != std::string_view::npos; at = text.find(begin, at + 1)) {
        const std::size_t from = at + url_at;
        const std::size_t to = text.find('"', from);
        const auto place = places.find(text.substr(from, to - from));
        if (place == places.end()) continue;
        out.append(text, copied, from - copied).append(place->second);
        copied = to;
        changed = true;
    }
    return changed ? out.append(text, copied) : std::string();
}

std::string outcome_text(std::string_view code, std::string_view words, std::string_view expression) {
    std::string out = R"({"resourceType":"OperationOutcome","issue":[{"severity":"error","code":)";
    append_quoted(out, code);
    out += R"(,"details":{"text":)";
    append_quoted(out, words);
    out += '}';
    if (!expression.empty()) out.append(R"(,"expression":[)").append(in_quotes(expression)).append("]");
    out += "}]}";
    return out;
}

std::string_view web_page(int status) {
    if (status == 200) return "<html><head><title>Sign in</title></head><body><h1>Welcome</h1></body></html>";
    if (status == 404) return "<html><head><title>Not Found</title></head><body>Nothing here.</body></html>";
    return "<html><head><title>Bad Gateway</title></head><body><h1>Bad Gateway</h1>"
           "<p>The upstream server did not answer.</p></body></html>";
}

}  // namespace nightferry::sim
