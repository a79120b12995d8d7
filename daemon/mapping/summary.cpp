#include "daemon/mapping/summary.hpp"

#include <array>

#include "daemon/care/share.hpp"
#include "daemon/entry/vocabulary.hpp"
#include "daemon/mapping/codes.hpp"
#include "daemon/mapping/observation_codes.hpp"

namespace nightferry::mapping {

using entry::Count;
using fhir::resource::CodeableConcept;
using fhir::resource::Observation;
using fhir::resource::Quantity;
using fhir::resource::Ratio;

namespace {

struct CountWords {
    Count count;
    std::string_view code;
    std::string_view words;
};

constexpr std::array counted{
    CountWords{Count::ordered, "doses-ordered", "doses ordered, without those held"},
    CountWords{Count::given, "doses-given", "doses recorded as given, extra ones too"},
    CountWords{Count::on_time, "doses-on-time", "doses given on time"},
    CountWords{Count::early, "doses-early", "doses given early"},
    CountWords{Count::late, "doses-late", "doses given late"},
    CountWords{Count::very_late, "doses-very-late", "doses given very late"},
    CountWords{Count::missed, "doses-missed", "doses declared as not given"},
    CountWords{Count::no_record, "doses-without-record", "doses of which nothing is recorded"},
    CountWords{Count::held, "doses-held", "doses left out because the clinic said so"},
    CountWords{Count::extra, "doses-extra", "doses given that belong to no scheduled one"},
    CountWords{Count::undecided, "doses-undecided",
               "scheduled doses that are in no other count until a person decides about a provisional one"},
    CountWords{Count::provisional, "doses-provisional",
               "doses in no other count until a person decides whether they were written down twice"},
};

struct ShareWords {
    Count n;
    Count of;
    std::string_view code;
    std::string_view words;
};

constexpr std::array shares{
    ShareWords{Count::filled, Count::ordered, "share-slots-filled", "scheduled doses that were given"},
    ShareWords{Count::given, Count::ordered, "share-doses-taken",
               "doses given, extra ones too, of doses ordered"},
    ShareWords{Count::near_time, Count::ordered, "share-near-time",
               "scheduled doses given within the narrow time window"},
    ShareWords{Count::wide_time, Count::ordered, "share-wide-time",
               "scheduled doses given within the wide time window"},
    ShareWords{Count::as_ordered_amount, Count::filled, "share-ordered-amount",
               "scheduled doses given in the ordered amount, of those given"},
    ShareWords{Count::days_as_ordered, Count::days, "share-days-as-ordered",
               "days with as many doses as were ordered"},
};

std::string minutes(std::chrono::minutes span) {
    return std::to_string(span.count()) + " min";
}

CodeableConcept not_calculable() {
    return {
        {{"http://terminology.hl7.org/CodeSystem/data-absent-reason", "not-applicable", "Not Applicable"}},
        "cannot be calculated: there is nothing for it to be a part of"};
}

void add_share(Observation& observation, const ShareWords& words, const entry::Summary& summary) {
    const care::Share share{summary.count(words.n), summary.count(words.of)};
    CodeableConcept code = local_concept(words.code, words.words);
    if (share.of == 0) {
        observation.component.push_back({std::move(code), {}, not_calculable()});
        return;
    }
    observation.component.push_back(
        {std::move(code), Ratio{std::to_string(share.n), std::to_string(share.of)}});
    if (const auto percent = share.percent()) {
        const std::string text = std::string(words.words) + ", in percent";
        observation.component.push_back({local_concept(std::string(words.code) + "-percent", text),
                                         Quantity{percent->to_string(), "%", "%"}});
    }
}

void add_content(Observation& observation, std::string_view code, const std::string& text,
                 const Decimal& value, entry::Unit unit) {
    observation.component.push_back(
        {local_concept(code, text),
         Quantity{value.to_string(), std::string(entry::word_for(unit)), std::string(ucum_code(unit))}});
}

}  // namespace

void fill(Observation& observation, const entry::Summary& summary, const Moment& ends,
          const entry::Household& household) {
    const bool day = summary.of == entry::SummaryOf::day;
    observation.category = {{{coding(observation_category, "therapy", "Therapy")}, {}}};
    observation.code = day ? local_concept(summary_of_day_code, "doses of one day, ordered and given")
                           : local_concept(summary_of_week_code, "doses of one week, ordered and given");
    observation.effective_period = fhir::resource::Period{to_text(summary.begins), to_text(ends)};
    observation.method.text =
        "computed by the home hub from what the family recorded, as it stood when this version was made; on "
        "time: "
        "within " +
        minutes(summary.on_time) + " of the time ordered, late: up to " + minutes(summary.late) +
        " after it, then very late; narrow window: " + minutes(summary.near) +
        " either way, wide window: " + minutes(summary.wide) + " either way";
    for (const CountWords& one : counted) {
        observation.component.push_back({local_concept(one.code, one.words),
                                         Observation::Integer{std::to_string(summary.count(one.count))}});
    }
    for (const ShareWords& one : shares)
        add_share(observation, one, summary);
    for (const entry::Summary::Content& one : summary.contents) {
        const entry::Medicine* medicine = household.medicine(one.medicine);
        if (medicine == nullptr) continue;
        const std::string of = " of " + product_words(*medicine);
        add_content(observation, "content-given", "all doses given, extra ones too," + of, one.given,
                    medicine->strength_unit);
        add_content(observation, "content-ordered", "all doses ordered, without those held," + of,
                    one.ordered, medicine->strength_unit);
    }
    if (summary.count(Count::ordered) == 0)
        observation.note =
            "No dose was ordered for this time, or all were held: the shares cannot be calculated.";
}

}  // namespace nightferry::mapping
