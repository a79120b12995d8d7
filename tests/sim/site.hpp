// One clinic as a simulated hub meets it: a model server, the line to it, and what befalls both.
#pragma once

#include <functional>
#include <map>
#include <optional>
#include <set>
#include <string>

#include "daemon/sync/ports.hpp"
#include "tests/sim/agenda.hpp"
#include "tests/sim/mix.hpp"
#include "tests/sim/model_clinic.hpp"

namespace nightferry::sim {

inline constexpr char entry_system[] = "https://hub.example/entries";

class Site {
 public:
    // Called after every change of what the clinic holds.
    using Watch = std::function<void(Site&)>;
    // For somebody who follows one world.
    using Tell = std::function<void(const std::string&)>;

    Site(std::string name, Dialect dialect, const Mix& mix, Agenda& agenda, WallClock& clock, Dice& dice,
         Watch watch, Tell tell);

    const std::string& name() const { return name_; }
    ModelClinic& server() { return server_; }
    const ModelClinic& server() const { return server_; }
    // A fresh end of the line for a hub that starts; the one before is dead.
    std::unique_ptr<sync::ClinicPort> connect();

    // It knows this patient: "p1", or an id of its own choice when that is empty.
    void take_up_patient(const std::string& id);

    // ---- What befalls it.
    void hour_passes(bool hub_is_at_work);
    void heal();
    void go_away(Span span) { away_until_ = agenda_.now() + span; }
    bool is_away() const { return agenda_.now() < away_until_; }

    // ---- What checkers ask.
    // "Patient/…": whom everything is about.
    std::string patient() const { return "Patient/" + patient_; }
    // Entries (by the value of their identifier) that people at the clinic changed, deleted or doubled, and
    // those that are for people to settle all the same.
    void excuse(const std::string& identity) { touched_.insert(identity); }
    const std::set<std::string>& touched_by_people() const { return touched_; }
    const std::map<std::string, std::string>& edited_texts() const { return edited_; }
    // What it does can be coped with exactly once; otherwise nothing is expected but that nothing is lost.
    bool is_workable() const { return workable_; }
    std::uint64_t most_requests_in_an_hour() const { return most_in_an_hour_; }
    int restores() const { return restores_; }
    bool was_restored() const { return restores_ > 0; }
    // Of those that came while it was away.
    std::uint64_t most_in_vain_in_an_hour() const { return most_in_vain_; }
    // An answer named the place of another resource, as nobody could tell.
    bool named_other_places() const { return named_other_places_; }

 private:
    class Line;
    struct Request {
        HttpRequest request;
        std::function<void(sync::Reply)> done;
        std::weak_ptr<int> hub;  // Gone when the hub that asked is.
        bool breaks = false;     // The connection, with this.
    };

    void carry(Request request);
    void break_with(const Request& request, Span there);
    void arrive(Request request);
    void answer(const Request& request, sync::Reply reply, Span after);
    HttpAnswer serve(const HttpRequest& request, Misbehaviour misbehaviour);
    Misbehaviour draw_misbehaviour();
    const StoredResource* any_of_ours();
    // What a look of the hub was about.
    const StoredResource* looked_at(const HttpRequest& request) const;
    void edit(const StoredResource& one);
    void people_act(bool hub_is_at_work);
    void move_patient();
    void put_patient_right();

    const std::string name_;
    ModelClinic server_;
    Mix mix_;
    Agenda& agenda_;
    WallClock& clock_;
    Dice& dice_;
    Watch watch_;
    Tell tell_;
    Span away_until_{0};
    bool lates_ = false;
    bool doubles_ = false;
    bool can_be_asked_ = false;
    bool search_may_lie_ = false;
    bool workable_ = true;
    bool named_other_places_ = false;
    bool races_ = false;
    int restores_ = 0;
    std::optional<ModelClinic::Snapshot> backup_;
    std::string patient_;  // Its id.
    std::set<std::string> touched_;
    std::map<std::string, std::string> edited_;
    std::uint64_t requests_this_hour_ = 0;
    std::uint64_t most_in_an_hour_ = 0;
    std::uint64_t in_vain_this_hour_ = 0;
    std::uint64_t most_in_vain_ = 0;
};

}  // namespace nightferry::sim
