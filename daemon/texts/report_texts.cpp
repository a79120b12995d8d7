#include "daemon/texts/report_texts.hpp"

namespace nightferry::texts {

namespace {

constexpr Line<ReportText> all[] = {
    // Head.
    {ReportText::title, "Injections given at home: {1}, {2}", "Injektionen zu Hause: {1}, {2}"},
    {ReportText::heading, "Injections given at home: {1}", "Injektionen zu Hause: {1}"},
    {ReportText::period_text, "{1} to {2}", "{1} bis {2}"},
    {ReportText::fact_person, "Person", "Person"},
    {ReportText::fact_period, "Period", "Zeitraum"},
    {ReportText::fact_known_at, "As it was known at", "Wissensstand vom"},
    {ReportText::fact_zone, "Times are those of", "Zeiten gelten für"},
    {ReportText::fact_from, "Made from", "Grundlage"},
    {ReportText::provenance,
     "the logbook of {1}, by Nightferry {2} on {3}; {4} entries of this person were known",
     "Logbuch von {1}, erstellt mit Nightferry {2} am {3}; bekannte Einträge zu dieser Person: {4}"},
    {ReportText::unresolved, "{n} unresolved", "{n} ungeklärt"},
    {ReportText::unresolved_none, "(provisional doses, slots without a record, unreadable entries)",
     "(vorläufige Dosen, Zeitpunkte ohne Eintrag, unlesbare Einträge)"},
    {ReportText::unresolved_some,
     "(provisional doses, slots without a record or unreadable entries): read every figure with care",
     "(vorläufige Dosen, Zeitpunkte ohne Eintrag oder unlesbare Einträge): alle Zahlen mit Vorsicht lesen"},
    // To look at first.
    {ReportText::look_first, "To look at first", "Zuerst ansehen"},
    {ReportText::no_flags, "No flag was open. That does not say that nothing happened.",
     "Keine Meldung war offen. Das heißt nicht, dass nichts geschehen ist."},
    {ReportText::flags_caption, "Flags open when this was known, of whatever day",
     "Meldungen, die bei diesem Wissensstand offen waren, gleich von welchem Tag"},
    {ReportText::column_level, "Level", "Stufe"},
    {ReportText::column_about, "About", "Zeitpunkt"},
    {ReportText::column_reason, "Reason", "Grund"},
    // What was not as ordered.
    {ReportText::other_than_ordered, "In this period, other than ordered",
     "In diesem Zeitraum anders als verordnet"},
    {ReportText::column_when, "When", "Wann"},
    {ReportText::column_what, "What", "Was"},
    {ReportText::slots_other, "Scheduled doses other than on time",
     "Vorgesehene Dosen, die nicht pünktlich waren"},
    {ReportText::off_by, "{1}, by {2}", "{1} ({2})"},
    {ReportText::said_by, "said by {1}", "gesagt von: {1}"},
    {ReportText::doses_besides, "Doses that belong to no slot, or were given while held",
     "Dosen ohne vorgesehenen Zeitpunkt oder trotz Auslassung"},
    {ReportText::given_besides, "{1} by {2}, {3}", "{1}, gegeben von {2}, {3}"},
    {ReportText::given_while_held, "{1} by {2}, {3}; given while the clinic had said to leave it out",
     "{1}, gegeben von {2}, {3}; gegeben, obwohl sie auf Anweisung der Klinik entfiel"},
    {ReportText::provisional_doses, "Provisional doses, counted in no figure",
     "Vorläufige Dosen, in keiner Zahl enthalten"},
    {ReportText::doubles, "Doses close together", "Dosen dicht hintereinander"},
    {ReportText::double_decided, "{1}, {2} after the one before; a person decided",
     "{1}, {2} nach der vorigen; von einem Menschen entschieden"},
    {ReportText::double_open, "{1}, {2} after the one before; not decided yet",
     "{1}, {2} nach der vorigen; noch nicht entschieden"},
    {ReportText::amounts_other, "Amounts other than ordered", "Mengen anders als verordnet"},
    {ReportText::amount_other, "amount other than ordered", "Menge anders als verordnet"},
    {ReportText::percent_of_order, "{1} % of the order", "{1} % der Verordnung"},
    {ReportText::site_notes, "Injection sites to note", "Auffällige Injektionsstellen"},
    {ReportText::distance_of, "{1} cm (limit {2} cm)", "{1} cm (Grenze {2} cm)"},
    {ReportText::lesions_there, "Seen at sites and still there", "An Injektionsstellen gesehen und noch da"},
    {ReportText::findings_elsewhere, "Seen elsewhere", "An anderen Stellen gesehen"},
    {ReportText::not_there, "looked for and not there", "nachgesehen und nicht da"},
    {ReportText::nothing_under, "Nothing is recorded under: {1}. That does not say that nothing happened.",
     "Nichts eingetragen unter: {1}. Das heißt nicht, dass nichts geschehen ist."},
    // Figures.
    {ReportText::figures, "Doses in figures", "Dosen in Zahlen"},
    {ReportText::not_calculable, "not calculable", "nicht berechenbar"},
    {ReportText::shares_caption, "Shares of what was scheduled", "Anteile am Vorgesehenen"},
    {ReportText::column_figure, "Figure", "Größe"},
    {ReportText::column_of, "n / N", "n / N"},
    {ReportText::slots_filled, "scheduled and given", "vorgesehen und gegeben"},
    {ReportText::taken, "given, extra ones too", "gegeben, auch zusätzliche"},
    {ReportText::near_time, "within the narrow window", "im engen Zeitfenster"},
    {ReportText::wide_time, "within the wide window", "im weiten Zeitfenster"},
    {ReportText::ordered_amount, "given in the ordered amount", "in verordneter Menge gegeben"},
    {ReportText::days_as_ordered, "days with as many as ordered", "Tage mit so vielen wie verordnet"},
    {ReportText::days_covered, "days with at least as many", "Tage mit mindestens so vielen"},
    {ReportText::intervals, "intervals within limits", "Abstände in den Grenzen"},
    {ReportText::content_of, "content of {1}", "Gehalt: {1}"},
    {ReportText::column_number, "Number", "Anzahl"},
    {ReportText::times_caption, "Times", "Zeiten"},
    {ReportText::column_time, "Time", "Zeit"},
    {ReportText::longest_gap, "longest gap between doses", "längster Abstand"},
    {ReportText::beyond_gaps, "beyond allowed gaps, in all", "über erlaubte hinaus, zusammen"},
    {ReportText::deviation_sum, "given minus due: sum", "gegeben minus fällig: Summe"},
    {ReportText::deviation_size_sum, "sum without signs", "Summe ohne Vorzeichen"},
    {ReportText::deviation_median, "median", "Median"},
    {ReportText::none, "none", "keine"},
    {ReportText::weeks_caption, "Scheduled and given", "Vorgesehen und gegeben"},
    {ReportText::column_from, "Week from", "Woche ab"},
    {ReportText::carers_caption, "By carer", "Nach Betreuenden"},
    {ReportText::column_carer, "Carer", "Wer"},
    {ReportText::column_given, "Given", "Gegeben"},
    {ReportText::column_as_ordered, "as ordered", "wie verordnet"},
    // Calendar.
    {ReportText::calendar, "Calendar of doses", "Kalender der Dosen"},
    {ReportText::calendar_title, "Doses from {1} to {2}", "Dosen vom {1} bis {2}"},
    {ReportText::calendar_desc,
     "One column for each day, one row for each scheduled time of day, one mark for each dose. What was not "
     "on time is listed in the tables above; the counts are in the legend.",
     "Eine Spalte für jeden Tag, eine Zeile für jede vorgesehene Uhrzeit, ein Zeichen für jede Dosis. Was "
     "nicht pünktlich war, steht in den Tabellen darüber; die Anzahlen stehen in der Legende."},
    {ReportText::calendar_caption,
     "A column for each day, a row for each scheduled time; weekends are shaded. Marks pointing left were "
     "early, those pointing right late.",
     "Eine Spalte für jeden Tag, eine Zeile für jede vorgesehene Uhrzeit; Wochenenden sind hinterlegt. "
     "Zeichen nach links waren früh, Zeichen nach rechts spät."},
    {ReportText::besides_schedule, "besides", "außerdem"},
    {ReportText::extra_dose, "extra dose", "zusätzliche Dosis"},
    {ReportText::provisional_dose, "provisional dose", "vorläufige Dosis"},
    {ReportText::no_slots, "No dose was scheduled in this period.",
     "In diesem Zeitraum war keine Dosis vorgesehen."},
    // Sites.
    {ReportText::sites, "Where injections lie", "Wo die Injektionen liegen"},
    {ReportText::zone, "{1} {2}", "{2} {1}"},
    {ReportText::body_front, "Injection sites, seen from the front", "Injektionsstellen von vorn"},
    {ReportText::body_back, "Injection sites, seen from behind", "Injektionsstellen von hinten"},
    {ReportText::body_desc,
     "Numbered marks show recent injections, 1 being the newest. The tables beside the drawing tell the "
     "same.",
     "Nummerierte Zeichen zeigen die kürzlichen Injektionen, 1 ist die neueste. Die Tabellen daneben sagen "
     "dasselbe."},
    {ReportText::body_caption,
     "Left and right are the person's own. Numbers are recent injections, 1 the newest; a second ring marks "
     "one with a note. Hatched zones rest because of a lump; dashed zones were never used; a dashed ellipse "
     "is a lesion that is still there. Without coordinates a mark lies in the middle of its zone. Outside "
     "the abdomen the family chose where 0, 0 lies, so marks show distances there, not exact places.",
     "Links und rechts gelten für die Person selbst. Zahlen sind kürzliche Injektionen, 1 die neueste; ein "
     "zweiter Ring bedeutet einen Vermerk. Schraffierte Zonen ruhen wegen eines Knotens; gestrichelte Zonen "
     "wurden nie benutzt; eine gestrichelte Ellipse ist eine Veränderung, die noch da ist. Ohne Koordinaten "
     "liegt ein Zeichen in der Mitte seiner Zone. Außer am Bauch hat die Familie gewählt, wo 0; 0 liegt; "
     "dort zeigen die Zeichen Abstände, keine genauen Orte."},
    {ReportText::unused_for, "unused {1}", "seit {1}"},
    {ReportText::unused, "unused", "unbenutzt"},
    {ReportText::rests, "rests", "ruht"},
    {ReportText::no_sites, "No injection site is recorded.", "Keine Injektionsstelle eingetragen."},
    {ReportText::next_zone, "The clinic's own order of zones names next: {1}.",
     "Die Reihenfolge der Klinik nennt als nächste Zone: {1}."},
    {ReportText::zones_caption, "Zones, at the end of the period or when this was known",
     "Zonen am Ende des Zeitraums oder beim Wissensstand"},
    {ReportText::column_zone, "Zone", "Zone"},
    {ReportText::column_in_period, "In the period", "Im Zeitraum"},
    {ReportText::column_recent, "Recent", "Kürzlich"},
    {ReportText::column_last, "Last", "Zuletzt"},
    {ReportText::column_unused_for, "Unused for", "Unbenutzt seit"},
    {ReportText::column_rests, "Rests", "Ruht"},
    {ReportText::no, "no", "nein"},
    {ReportText::rests_for_lump, "because of a lump", "wegen eines Knotens"},
    {ReportText::rests_until, "until {1}", "bis {1}"},
    {ReportText::recent_caption, "Recent injections, newest first", "Kürzliche Injektionen, neueste zuerst"},
    {ReportText::column_no, "No.", "Nr."},
    {ReportText::column_given_at, "Given", "Gegeben"},
    {ReportText::column_where, "Where, and what was noted", "Wo, und was vermerkt ist"},
    {ReportText::column_note, "Note", "Vermerk"},
    {ReportText::no_coordinates, "not told", "nicht angegeben"},
    // Lesions.
    {ReportText::lesions, "What was seen at sites, and how it changed",
     "Was an Injektionsstellen zu sehen war, und wie es sich veränderte"},
    {ReportText::curve_title, "{1}: size in {2} at each look", "{1}: Größe in {2} bei jedem Blick"},
    {ReportText::curve_desc, "The table below the curve tells the same.",
     "Die Tabelle unter der Kurve sagt dasselbe."},
    {ReportText::first_seen, "first seen {1}", "zuerst gesehen {1}"},
    {ReportText::after_its_dose, "{1} after the injection it came from",
     "{1} nach der Injektion, von der es kam"},
    {ReportText::after_nearest_dose, "{1} after the nearest injection",
     "{1} nach der nächstgelegenen Injektion"},
    {ReportText::still_there, "still there at the last look", "beim letzten Blick noch da"},
    {ReportText::gone_after, "gone {1}, after {2}", "verschwunden {1}, nach {2}"},
    {ReportText::looks_caption, "Looks at: {1}", "Blicke auf: {1}"},
    {ReportText::column_size, "cm", "cm"},
    {ReportText::column_ratio, "Ratio", "Verhältnis"},
    {ReportText::column_trend, "Change", "Veränderung"},
    {ReportText::persistent_growth, "keeps growing", "wächst weiter"},
    {ReportText::large_lesion, "large", "groß"},
    // Vials.
    {ReportText::vials, "Vials and what they cover", "Flaschen und was sie abdecken"},
    {ReportText::no_vials, "No vial was opened.", "Keine Flasche wurde angebrochen."},
    {ReportText::vials_caption, "Vials, as they stood when this was known; volumes in mL",
     "Flaschen beim Wissensstand; Volumen in mL"},
    {ReportText::column_vial, "Vial", "Flasche"},
    {ReportText::column_opened, "Opened", "Angebrochen"},
    {ReportText::column_draws, "Draws", "Entnahmen"},
    {ReportText::column_injected, "Injected", "Injiziert"},
    {ReportText::column_lost, "Lost", "Verlust"},
    {ReportText::column_left, "Left", "Rest"},
    {ReportText::column_content, "Content given", "Gehalt gegeben"},
    {ReportText::column_discard, "Discard date", "Verwerfdatum"},
    {ReportText::column_lot, "Lot", "Charge"},
    {ReportText::not_known, "not known", "nicht bekannt"},
    {ReportText::covers, "Open vials cover {1} of the doses to come; the first not covered is that of {2}.",
     "Angebrochene Flaschen decken {1} der kommenden Dosen ab; die erste nicht gedeckte ist die von {2}."},
    {ReportText::covers_none, "Open vials cover no dose, and none is ordered from then on.",
     "Angebrochene Flaschen decken keine Dosis ab, und von da an ist keine verordnet."},
    {ReportText::covers_all,
     "Open vials cover {1} of the doses to come, and all that are ordered from then on.",
     "Angebrochene Flaschen decken {1} der kommenden Dosen ab, also alle, die von da an verordnet sind."},
    {ReportText::last_covered, "The last covered is that of {1}.", "Die letzte gedeckte ist die von {1}."},
    {ReportText::rest_left, "{1} mL are then left over.", "Danach bleiben {1} mL übrig."},
    {ReportText::supply_caption, "For refills only; it says nothing about what was given",
     "Nur für den Nachschub; über Gegebenes sagt es nichts"},
    {ReportText::supply_covered, "days covered by the vials opened",
     "Tage, die angebrochene Flaschen abdecken"},
    {ReportText::supply_obtained, "days' worth obtained in vials opened",
     "Tagesmengen in angebrochenen Flaschen"},
    {ReportText::vial_notes_caption, "Doses whose vial gives reason for a note, of whatever day",
     "Dosen, deren Flasche Anlass zu einem Vermerk gibt, gleich von welchem Tag"},
    {ReportText::column_limit, "Limit", "Grenze"},
    // Weighings.
    {ReportText::weights, "Weighings", "Gewicht"},
    {ReportText::weights_caption, "Weighings of the period", "Wiegungen im Zeitraum"},
    {ReportText::column_how, "How", "Wie"},
    // Data quality.
    {ReportText::quality, "How complete the record is", "Wie vollständig die Aufzeichnung ist"},
    {ReportText::quality_caption, "About the record itself", "Über die Aufzeichnung selbst"},
    {ReportText::longest_lag, "longest time from giving to writing down",
     "längste Zeit vom Geben bis zum Eintragen"},
    {ReportText::unresolved_items, "unresolved: provisional, without a record, or unreadable",
     "ungeklärt: vorläufig, ohne Eintrag oder unlesbar"},
    {ReportText::unreadable, "unreadable entries", "unlesbare Einträge"},
    {ReportText::entries_known, "entries of this person that were known",
     "bekannte Einträge zu dieser Person"},
    {ReportText::unreadable_list,
     "These entries cannot be read any more, or name a medicine that the settings no longer know:",
     "Diese Einträge sind nicht mehr lesbar oder nennen ein Medikament, das die Einstellungen nicht kennen:"},
    // Cautions.
    {ReportText::cautions, "What this page is, and is not", "Was diese Seite ist und was nicht"},
    {ReportText::caution_record,
     "Everything here is computed from what was written down at home. It compares and counts; it is not "
     "advice. A missing entry is never reassurance.",
     "Alles hier ist aus dem berechnet, was zu Hause aufgeschrieben wurde. Es vergleicht und zählt; es ist "
     "keine Empfehlung. Ein fehlender Eintrag ist nie eine Entwarnung."},
    {ReportText::caution_watch, "Nobody watches it as it happens.", "Niemand sieht in Echtzeit zu."},
    {ReportText::caution_practice,
     "The clinic's own instructions, local rules and licensed practice come first; what follows from a "
     "figure or a flag is for the clinic to say.",
     "Anweisungen der Klinik, örtliche Regeln und zugelassene Praxis gehen vor; was aus einer Zahl oder "
     "Meldung folgt, sagt die Klinik."},
    {ReportText::caution_emergency, "In an emergency call the local emergency number.",
     "Im Notfall die örtliche Notrufnummer wählen."},
    {ReportText::rests_on_slots,
     "A dose belongs to the scheduled time that it fits within the limits set here; what fits none is extra. "
     "Days and times are those of the home's clock.",
     "Eine Dosis gehört zu dem vorgesehenen Zeitpunkt, zu dem sie innerhalb der hier gesetzten Grenzen "
     "passt; was zu keinem passt, ist zusätzlich. Tage und Zeiten sind die der Uhr zu Hause."},
    {ReportText::rests_on_figures,
     "Each figure stands for itself; they are never merged into one. n / N: so many of so many; N leaves out "
     "doses that the clinic had held, that are still due, or that are not decided yet.",
     "Jede Zahl steht für sich; sie werden nie zu einer einzigen verrechnet. n / N: so viele von so vielen; "
     "N lässt Dosen aus, die auf Anweisung der Klinik entfielen, die noch anstehen oder die noch nicht "
     "entschieden "
     "sind."},
    {ReportText::rests_on_sites,
     "Places on the body are as the family wrote them, and approximate. An area is that of an ellipse: pi / "
     "4 times length times width.",
     "Stellen am Körper sind so angegeben, wie die Familie sie aufschrieb, und ungefähr. Eine Fläche ist die "
     "einer Ellipse: Pi / 4 mal Länge mal Breite."},
    {ReportText::rests_on_format,
     "The meaning of each figure, and what each limit rests on, is written in the hub's documentation "
     "(report-format.md).",
     "Was jede Zahl bedeutet und worauf jede Grenze beruht, steht in der Dokumentation des Hubs "
     "(report-format.md)."},
};

static_assert(are_in_order(all, ReportText::rests_on_format));

}  // namespace

std::span<const Line<ReportText>> Texts<ReportText>::lines() {
    return all;
}

}  // namespace nightferry::texts
