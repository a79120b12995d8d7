#include "daemon/texts/care_words.hpp"

#include <algorithm>

namespace nightferry::texts {

namespace {

constexpr Line<std::string_view> words[] = {
    // What became of a scheduled dose.
    {"given", "given", "gegeben"},
    {"held", "left out, as the clinic said", "auf Anweisung der Klinik ausgelassen"},
    {"missed", "not given", "nicht gegeben"},
    {"undecided", "not decided yet", "noch nicht entschieden"},
    {"no_record", "no record", "kein Eintrag"},
    {"due", "still due", "steht noch an"},
    // When it was given.
    {"on_time", "on time", "pünktlich"},
    {"early", "early", "früh"},
    {"late", "late", "spät"},
    {"very_late", "very late", "sehr spät"},
    {"extra", "extra", "zusätzlich"},
    {"provisional", "provisional", "vorläufig"},
    // Why it was not.
    {"forgot", "forgotten", "vergessen"},
    {"refused", "refused", "verweigert"},
    {"clinic_hold", "the clinic said so", "auf Anweisung der Klinik"},
    {"out_of_stock", "none left", "nichts mehr da"},
    {"not_at_hand", "not at hand", "nicht zur Hand"},
    {"in_hospital", "in hospital", "im Krankenhaus"},
    {"unwell", "unwell", "unwohl"},
    {"other", "other", "anderes"},
    // Doses close together.
    {"duplicate_entry", "possibly written down twice", "vielleicht doppelt eingetragen"},
    {"second_injection", "possibly a second injection", "vielleicht eine zweite Injektion"},
    // Amounts.
    {"match", "as ordered", "wie verordnet"},
    {"deviates", "other than ordered", "anders als verordnet"},
    {"large", "far from the order", "weit von der Verordnung entfernt"},
    {"possible_tenfold", "possibly tenfold or a tenth", "vielleicht das Zehnfache oder ein Zehntel"},
    {"not_comparable", "cannot be compared", "nicht vergleichbar"},
    // Places.
    {"left", "left", "links"},
    {"right", "right", "rechts"},
    {"abdomen", "abdomen", "Bauch"},
    {"thigh", "thigh", "Oberschenkel"},
    {"upper_arm", "upper arm", "Oberarm"},
    {"buttock", "buttock", "Gesäß"},
    {"lower_back", "lower back", "unterer Rücken"},
    {"near_navel", "near the navel", "nahe am Nabel"},
    {"close_to_recent", "close to a recent injection", "nahe an einer kürzlichen Injektion"},
    {"same_side", "the same side as before", "dieselbe Seite wie zuvor"},
    {"in_bruise", "in a bruise or at its edge", "in einem Bluterguss oder an seinem Rand"},
    {"resting", "in a zone that rests", "in einer Zone, die ruht"},
    {"excluded", "in an excluded place", "an einer ausgenommenen Stelle"},
    {"other_region", "in a region not named by the clinic", "in einer Region, die die Klinik nicht nennt"},
    {"spacing_not_assessable", "distance cannot be assessed", "Abstand nicht zu beurteilen"},
    // Findings.
    {"bruise", "bruise", "Bluterguss"},
    {"haematoma", "haematoma", "Hämatom"},
    {"lump", "lump", "Knoten"},
    {"hardening", "hardening", "Verhärtung"},
    {"site_bleeding", "bleeding at the site", "Blutung an der Einstichstelle"},
    {"redness", "redness", "Rötung"},
    {"pain", "pain", "Schmerz"},
    {"swelling", "swelling", "Schwellung"},
    {"itching", "itching", "Juckreiz"},
    {"hives", "hives", "Quaddeln"},
    {"infection_signs", "signs of infection", "Anzeichen einer Entzündung"},
    {"dead_skin", "dead skin", "abgestorbene Haut"},
    {"leak", "leak", "Austritt von Flüssigkeit"},
    {"colour_change", "change of colour", "Verfärbung"},
    {"numbness", "numbness", "Taubheit"},
    {"nosebleed", "nosebleed", "Nasenbluten"},
    {"gum_bleeding", "bleeding gums", "Zahnfleischbluten"},
    {"blood_in_urine", "blood in urine", "Blut im Urin"},
    {"dark_stool", "dark stool", "dunkler Stuhl"},
    {"head_injury", "head injury", "Kopfverletzung"},
    // How lesions change.
    {"first", "first look", "erster Blick"},
    {"growing", "growing", "wächst"},
    {"shrinking", "shrinking", "wird kleiner"},
    {"steady", "steady", "gleich"},
    {"resolved", "gone", "verschwunden"},
    {"not_measured", "area not measured", "Fläche nicht gemessen"},
    // Vials.
    {"unknown", "this vial is not known", "diese Flasche ist nicht bekannt"},
    {"not_named", "no vial is named", "keine Flasche genannt"},
    {"other_medicine", "a vial of another medicine", "Flasche eines anderen Medikaments"},
    {"after_in_use", "after the days in use", "nach Ablauf der Anbruchfrist"},
    {"after_expiry", "after the printed date", "nach dem aufgedruckten Datum"},
    {"overdrawn", "more drawn than it held", "mehr entnommen als enthalten"},
    // Weighings.
    {"measured", "measured", "gemessen"},
    {"estimated", "estimated", "geschätzt"},
    // Flags.
    {"urgent", "urgent", "dringend"},
    {"contact", "contact the clinic", "Klinik anrufen"},
    {"note", "note", "Hinweis"},
};

}  // namespace

std::span<const Line<std::string_view>> care_words() {
    return words;
}

std::string say_word(const Speaker& speaker, std::string_view word) {
    const auto* const found = std::ranges::find(words, word, &Line<std::string_view>::text);
    if (found != std::end(words))
        return std::string(speaker.language() == Language::german ? found->german : found->english);
    std::string spaced(word);
    std::ranges::replace(spaced, '_', ' ');
    return spaced;
}

}  // namespace nightferry::texts
