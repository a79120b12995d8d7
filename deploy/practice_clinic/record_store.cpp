#include "deploy/practice_clinic/record_store.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>
#include <stdexcept>

#include "fhir/exchange/search.hpp"
#include "fhir/json/reader.hpp"
#include "fhir/json/writer.hpp"

namespace nightferry::practice {

namespace json = fhir::json;

namespace {

std::string with_identity(const json::Value& resource, const std::string& id, int version) {
    json::Document document;
    json::Value& root = document.root();
    root.add_string("resourceType", resource.string_at("resourceType"));
    root.add_string("id", id);
    json::Value& meta = root.add_object("meta");
    meta.add_string("versionId", std::to_string(version));
    if (const json::Value* own = resource.find("meta")) {
        for (const json::Value& member : *own) {
            if (member.name() != "versionId" && member.name() != "lastUpdated")
                meta.add_copy(member.name(), member);
        }
    }
    for (const json::Value& member : resource) {
        const auto name = member.name();
        if (name != "resourceType" && name != "id" && name != "meta") root.add_copy(name, member);
    }
    return json::write(root);
}

}  // namespace

RecordStore::RecordStore(std::filesystem::path journal) : journal_(std::move(journal)) {
    std::ifstream stream(journal_);
    for (std::string line; std::getline(stream, line);) {
        const auto document = json::read(line);
        if (!document)
            throw std::runtime_error("the practice clinic's journal " + journal_.string() + " is damaged");
        const json::Value& root = document->root();
        Stored stored{std::string(root.string_at("resourceType")), std::string(root.string_at("id")), 0,
                      line};
        stored.version = std::stoi(std::string(root.find("meta")->string_at("versionId")));
        if (stored.id.starts_with("n")) next_id_ = std::max(next_id_, std::atoi(stored.id.c_str() + 1) + 1);
        records_[{stored.type, stored.id}] = std::move(stored);
    }
}

const Stored* RecordStore::find(std::string_view type, std::string_view id) const {
    const auto it = records_.find(std::pair(std::string(type), std::string(id)));
    return it == records_.end() ? nullptr : &it->second;
}

std::vector<const Stored*> RecordStore::search(std::string_view type, std::string_view system,
                                               std::string_view value) const {
    std::vector<const Stored*> found;
    const auto bears_it = [&](const Stored& stored) {
        const auto document = json::read(stored.text);
        return document && fhir::exchange::bears_identifier(document->root(), system, value);
    };
    for (const auto& [key, stored] : records_) {
        if (key.first == type && (system.empty() || bears_it(stored))) found.push_back(&stored);
    }
    return found;
}

const Stored& RecordStore::put(const json::Value& resource, std::string_view type, std::string id) {
    if (id.empty()) id = "n" + std::to_string(next_id_++);
    Stored& stored = records_[{std::string(type), id}];
    stored.type = type;
    stored.id = id;
    ++stored.version;
    stored.text = with_identity(resource, id, stored.version);
    changed_.emplace_back(stored.type, stored.id);
    if (!in_one_) keep();
    return stored;
}

void RecordStore::begin() {
    before_ = records_;
    next_id_before_ = next_id_;
    in_one_ = true;
}

void RecordStore::keep() {
    std::ofstream stream(journal_, std::ios::app);
    for (const Key& key : changed_)
        stream << records_.at(key).text << '\n';
    if (!stream.flush())
        throw std::runtime_error("the practice clinic's journal " + journal_.string() + " cannot be written");
    changed_.clear();
    in_one_ = false;
}

void RecordStore::undo() {
    records_ = std::move(before_);
    next_id_ = next_id_before_;
    changed_.clear();
    in_one_ = false;
}

std::map<std::pair<std::string, std::string>, int> RecordStore::counts() const {
    std::map<std::pair<std::string, std::string>, int> counts;
    for (const auto& [key, stored] : records_) {
        const auto document = json::read(stored.text);
        ++counts[{key.first, document ? std::string(document->root().string_at("status")) : std::string()}];
    }
    return counts;
}

}  // namespace nightferry::practice
