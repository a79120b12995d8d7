// Passes as the local API starts and sees them.
#pragma once

#include <memory>
#include <string>
#include <vector>

#include "daemon/intake/api.hpp"
#include "daemon/service/clinic_link.hpp"

namespace nightferry::service {

class LinkedPasses final : public intake::Passes {
 public:
    explicit LinkedPasses(std::vector<std::unique_ptr<ClinicLink>>& links) : links_(links) {}

    std::vector<std::string> clinics() const override {
        std::vector<std::string> names;
        for (const auto& link : links_)
            names.push_back(link->loop().clinic());
        return names;
    }
    bool is_running(const std::string& clinic) const override {
        ClinicLink* link = find(clinic);
        return link != nullptr && link->loop().is_running();
    }
    void start(const std::string& clinic) override {
        if (ClinicLink* link = find(clinic)) link->loop().request_pass();
    }
    std::vector<std::string> remarks(const std::string& clinic) const override {
        const ClinicLink* link = find(clinic);
        if (link == nullptr) return {};
        std::vector<std::string> all = link->order_remarks();
        for (const access::Remark& one : link->remarks())
            all.push_back(one.words);
        return all;
    }

    ClinicLink* find(const std::string& clinic) const {
        for (const auto& link : links_) {
            if (link->loop().clinic() == clinic) return link.get();
        }
        return nullptr;
    }

 private:
    std::vector<std::unique_ptr<ClinicLink>>& links_;
};

}  // namespace nightferry::service
