#include "daemon/core/ids.hpp"

#include <boost/uuid/name_generator_sha1.hpp>
#include <boost/uuid/string_generator.hpp>
#include <boost/uuid/uuid_io.hpp>
#include <cctype>

namespace nightferry {

namespace {

bool has_uuid_form(std::string_view text) {
    if (text.size() != 36) return false;
    for (std::size_t i = 0; i < text.size(); ++i) {
        const bool dash = i == 8 || i == 13 || i == 18 || i == 23;
        if (dash ? text[i] != '-' : std::isxdigit(static_cast<unsigned char>(text[i])) == 0) return false;
    }
    return true;
}

}  // namespace

std::optional<EntryId> EntryId::parse(std::string_view text) {
    constexpr std::string_view urn = "urn:uuid:";
    if (text.starts_with(urn)) text.remove_prefix(urn.size());
    if (!has_uuid_form(text)) return std::nullopt;
    const EntryId id(boost::uuids::string_generator()(text.begin(), text.end()));
    if (id.uuid_.is_nil()) return std::nullopt;
    return id;
}

std::string EntryId::to_string() const {
    return boost::uuids::to_string(uuid_);
}

std::strong_ordering EntryId::operator<=>(const EntryId& other) const {
    if (uuid_ == other.uuid_) return std::strong_ordering::equal;
    return uuid_ < other.uuid_ ? std::strong_ordering::less : std::strong_ordering::greater;
}

NameSpace::NameSpace(std::string_view hub)
    : space_(
          boost::uuids::name_generator_sha1(boost::uuids::ns::url())("nightferry:hub:" + std::string(hub))) {}

EntryId NameSpace::id_for(std::string_view name) const {
    return EntryId(boost::uuids::name_generator_sha1(space_)(std::string(name)));
}

}  // namespace nightferry
