#include "daemon/care/orders_json.hpp"

#include "daemon/care/json_parts.hpp"

namespace nightferry::care {

namespace {

void put_texts(json::Value& into, std::string_view name, const std::vector<std::string>& texts) {
    if (texts.empty()) return;
    json::Value& list = into.add_array(name);
    for (const std::string& text : texts)
        list.push_string(text);
}

void put_text(json::Value& into, std::string_view name, const std::string& text) {
    if (!text.empty()) into.add_string(name, text);
}

void put_order(json::Value& into, const ClinicOrder& order) {
    into.add_string("reference", "MedicationRequest/" + order.id);
    into.add_string("status", order.status);
    put(into, "seen", order.seen);
    put(into, "authored", order.authored);
    put_text(into, "ordered_medicine", order.medicine_words);
    put_text(into, "ordered_strength", order.strength_words);
    put_texts(into, "could_be", order.medicines);
    json::Value& doses = into.add_array("ordered_doses");
    for (const OrderedDose& dose : order.doses) {
        json::Value& object = doses.push_object();
        put_text(object, "ordered_amount", dose.amount_words);
        put_text(object, "ordered_times", dose.times_words);
        put_if(object, "as_needed", dose.as_needed);
        put(object, "begins", dose.from);
        put(object, "ends", dose.until);
        put_text(object, "clinics_words", dose.text);
        put_texts(object, "beyond", dose.beyond);
    }
}

}  // namespace

void put_orders(json::Value& into, const OrdersRead& read, const OrdersCompared& compared) {
    into.add_string("clinic", read.clinic);
    put(into, "last_read", read.last_read);
    put_text(into, "failure", read.failure);
    put(into, "other_orders", read.others);
    json::Value& orders = into.add_array("orders");
    for (const ClinicOrder& order : read.orders)
        put_order(orders.push_object(), order);
    json::Value& comparisons = into.add_array("comparisons");
    for (const OrderComparison& one : compared.comparisons) {
        json::Value& object = comparisons.push_object();
        json::Value& references = object.add_array("references");
        for (const std::size_t i : one.orders)
            references.push_string("MedicationRequest/" + read.orders[i].id);
        object.add_string("standing", word_for(one.standing));
        json::Value& elements = object.add_array("elements");
        for (const ElementCheck& check : one.elements) {
            json::Value& element = elements.push_object();
            element.add_string("element", word_for(check.element));
            element.add_string("agreement", word_for(check.agreement));
            element.add_string("words", check.words);
        }
    }
    if (compared.missing) into.add_string("missing", compared.missing->words);
    put_if(into, "may_be_missing", compared.may_be_missing);
}

}  // namespace nightferry::care
