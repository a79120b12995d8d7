#include <array>

#include "config/measures.hpp"
#include "config/regimen_section.hpp"
#include "daemon/core/words.hpp"

namespace nightferry::config {

Product read_product(TableReader& table, const std::string& medicine) {
    Product product{medicine, {}, {}};
    care::Syringe syringe;
    const auto millilitres = [](std::string_view key, Decimal& into, Decimal least, Decimal most) {
        return Measure{key, "mL", least, most, false, [&into](const Decimal& value) { into = value; }};
    };
    const std::array measures{
        millilitres("syringe", syringe.scale.capacity_ml, Decimal(1, 1), Decimal(20, 0)),
        millilitres("syringe_marks", syringe.scale.step_ml, Decimal(1, 3), Decimal(1, 0)),
        millilitres("loss_per_draw", product.vial.loss_per_draw_ml, Decimal(), Decimal(1, 0)),
        Measure{"in_use", "days", Decimal(1, 0), Decimal(365, 0), true,
                [&](const Decimal& value) {
                    product.vial.in_use_days = static_cast<int>(value.trimmed().coefficient());
                }},
    };
    read_measures(table, measures);
    syringe.is_prefilled = read_yes_or_no(table, "prefilled").value_or(false);
    if (table.has("syringe") != table.has("syringe_marks")) {
        table.problem(table.has("syringe") ? "syringe" : "syringe_marks",
                      "syringe and syringe_marks belong together: what it holds, and what one mark is");
    } else if (table.has("syringe") && syringe.scale.step_ml > syringe.scale.capacity_ml) {
        table.problem("syringe_marks", "is more than the syringe holds");
    } else if (table.has("syringe")) {
        product.syringe = syringe;
    } else if (syringe.is_prefilled) {
        table.problem("prefilled", "needs syringe and syringe_marks: what it holds, and what one mark is");
    }
    if (const auto counting = table.text("in_use_counting")) {
        if (*counting == "opening is day 1") {
            product.vial.counting = care::DayCount::opening_is_day_one;
        } else if (*counting != "from opening") {
            table.problem("in_use_counting",
                          in_quotes(*counting) +
                              " is no way of counting; expected \"from opening\" or \"opening is day 1\"");
        }
    }
    return product;
}

}  // namespace nightferry::config
