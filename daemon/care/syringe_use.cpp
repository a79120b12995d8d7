#include "daemon/care/syringe_use.hpp"

namespace nightferry::care {

SyringeUse syringe_use(const DoseSize& size, const entry::Medicine& medicine, const Syringe& syringe) {
    SyringeUse use;
    use.mark = mark_of(size.ml, syringe.scale);
    use.is_beyond_capacity = size.ml > syringe.scale.capacity_ml;
    use.is_hardly_measurable = size.ml < Decimal(2, 2);
    // Syringes of 0.3 and 0.5 mL are insulin syringes; one of 1 mL may be a tuberculin syringe, whose
    // tolerance is wider.
    const bool is_insulin = syringe.scale.capacity_ml <= Decimal(5, 1);
    if (!use.is_beyond_capacity && !syringe.is_prefilled) {
        use.tolerance_ml = tolerance_ml(is_insulin ? tolerance_iso_8537() : tolerance_iso_7886_1(),
                                        syringe.scale.capacity_ml, size.ml);
    }
    if (syringe.is_prefilled && !use.is_beyond_capacity && size.ml < syringe.scale.capacity_ml) {
        use.discarded_ml = subtract(syringe.scale.capacity_ml, size.ml);
        if (use.discarded_ml) use.discarded = multiply(*use.discarded_ml, medicine.strength);
    }
    return use;
}

}  // namespace nightferry::care
