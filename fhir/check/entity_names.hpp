// The names that XHTML 1.0 gives to characters (https://www.w3.org/TR/xhtml1/#h-A2 with XML's own five),
// sorted.
#pragma once

#include <algorithm>
#include <array>
#include <string_view>

namespace nightferry::fhir::check {

inline constexpr auto entity_names = [] {
    using namespace std::string_view_literals;
    return std::array{
        "AElig"sv,  "Aacute"sv,  "Acirc"sv,  "Agrave"sv,  "Alpha"sv,   "Aring"sv,   "Atilde"sv,
        "Auml"sv,   "Beta"sv,    "Ccedil"sv, "Chi"sv,     "Dagger"sv,  "Delta"sv,   "ETH"sv,
        "Eacute"sv, "Ecirc"sv,   "Egrave"sv, "Epsilon"sv, "Eta"sv,     "Euml"sv,    "Gamma"sv,
        "Iacute"sv, "Icirc"sv,   "Igrave"sv, "Iota"sv,    "Iuml"sv,    "Kappa"sv,   "Lambda"sv,
        "Mu"sv,     "Ntilde"sv,  "Nu"sv,     "OElig"sv,   "Oacute"sv,  "Ocirc"sv,   "Ograve"sv,
        "Omega"sv,  "Omicron"sv, "Oslash"sv, "Otilde"sv,  "Ouml"sv,    "Phi"sv,     "Pi"sv,
        "Prime"sv,  "Psi"sv,     "Rho"sv,    "Scaron"sv,  "Sigma"sv,   "THORN"sv,   "Tau"sv,
        "Theta"sv,  "Uacute"sv,  "Ucirc"sv,  "Ugrave"sv,  "Upsilon"sv, "Uuml"sv,    "Xi"sv,
        "Yacute"sv, "Yuml"sv,    "Zeta"sv,   "aacute"sv,  "acirc"sv,   "acute"sv,   "aelig"sv,
        "agrave"sv, "alefsym"sv, "alpha"sv,  "amp"sv,     "and"sv,     "ang"sv,     "apos"sv,
        "aring"sv,  "asymp"sv,   "atilde"sv, "auml"sv,    "bdquo"sv,   "beta"sv,    "brvbar"sv,
        "bull"sv,   "cap"sv,     "ccedil"sv, "cedil"sv,   "cent"sv,    "chi"sv,     "circ"sv,
        "clubs"sv,  "cong"sv,    "copy"sv,   "crarr"sv,   "cup"sv,     "curren"sv,  "dArr"sv,
        "dagger"sv, "darr"sv,    "deg"sv,    "delta"sv,   "diams"sv,   "divide"sv,  "eacute"sv,
        "ecirc"sv,  "egrave"sv,  "empty"sv,  "emsp"sv,    "ensp"sv,    "epsilon"sv, "equiv"sv,
        "eta"sv,    "eth"sv,     "euml"sv,   "euro"sv,    "exist"sv,   "fnof"sv,    "forall"sv,
        "frac12"sv, "frac14"sv,  "frac34"sv, "frasl"sv,   "gamma"sv,   "ge"sv,      "gt"sv,
        "hArr"sv,   "harr"sv,    "hearts"sv, "hellip"sv,  "iacute"sv,  "icirc"sv,   "iexcl"sv,
        "igrave"sv, "image"sv,   "infin"sv,  "int"sv,     "iota"sv,    "iquest"sv,  "isin"sv,
        "iuml"sv,   "kappa"sv,   "lArr"sv,   "lambda"sv,  "lang"sv,    "laquo"sv,   "larr"sv,
        "lceil"sv,  "ldquo"sv,   "le"sv,     "lfloor"sv,  "lowast"sv,  "loz"sv,     "lrm"sv,
        "lsaquo"sv, "lsquo"sv,   "lt"sv,     "macr"sv,    "mdash"sv,   "micro"sv,   "middot"sv,
        "minus"sv,  "mu"sv,      "nabla"sv,  "nbsp"sv,    "ndash"sv,   "ne"sv,      "ni"sv,
        "not"sv,    "notin"sv,   "nsub"sv,   "ntilde"sv,  "nu"sv,      "oacute"sv,  "ocirc"sv,
        "oelig"sv,  "ograve"sv,  "oline"sv,  "omega"sv,   "omicron"sv, "oplus"sv,   "or"sv,
        "ordf"sv,   "ordm"sv,    "oslash"sv, "otilde"sv,  "otimes"sv,  "ouml"sv,    "para"sv,
        "part"sv,   "permil"sv,  "perp"sv,   "phi"sv,     "pi"sv,      "piv"sv,     "plusmn"sv,
        "pound"sv,  "prime"sv,   "prod"sv,   "prop"sv,    "psi"sv,     "quot"sv,    "rArr"sv,
        "radic"sv,  "rang"sv,    "raquo"sv,  "rarr"sv,    "rceil"sv,   "rdquo"sv,   "real"sv,
        "reg"sv,    "rfloor"sv,  "rho"sv,    "rlm"sv,     "rsaquo"sv,  "rsquo"sv,   "sbquo"sv,
        "scaron"sv, "sdot"sv,    "sect"sv,   "shy"sv,     "sigma"sv,   "sigmaf"sv,  "sim"sv,
        "spades"sv, "sub"sv,     "sube"sv,   "sum"sv,     "sup"sv,     "sup1"sv,    "sup2"sv,
        "sup3"sv,   "supe"sv,    "szlig"sv,  "tau"sv,     "there4"sv,  "theta"sv,   "thetasym"sv,
        "thinsp"sv, "thorn"sv,   "tilde"sv,  "times"sv,   "trade"sv,   "uArr"sv,    "uacute"sv,
        "uarr"sv,   "ucirc"sv,   "ugrave"sv, "uml"sv,     "upsih"sv,   "upsilon"sv, "uuml"sv,
        "weierp"sv, "xi"sv,      "yacute"sv, "yen"sv,     "yuml"sv,    "zeta"sv,    "zwj"sv,
        "zwnj"sv,
    };
}();

static_assert(std::ranges::is_sorted(entity_names));

}  // namespace nightferry::fhir::check
