#!/usr/bin/env bash
# Writes a bill of materials in SPDX 2.3 (JSON) of what the package's programs are made of: the Debian packages whose
# headers went into them, as the build noted them, and those whose libraries they load. Of headers it says GENERATED_FROM
# (section 11.1): that holds for what is all headers and for those of a library that is loaded.
#
#   deploy/bill_of_materials.sh BUILD_FOLDER PACKAGE_FOLDER     for a build by Ninja, to standard output
set -euo pipefail

build=$1
root=$2
version=$(sed -n 's/^CMAKE_PROJECT_VERSION:STATIC=//p' "$build/CMakeCache.txt")
architecture=${DEB_HOST_ARCH:-$(dpkg --print-architecture)}
triplet=$(dpkg-architecture -a "$architecture" -q DEB_HOST_MULTIARCH)
programs=("$root/usr/sbin/nightferryd" "$root/usr/bin/nightferry")
created=$(date -u -d "@${SOURCE_DATE_EPOCH:-$(date +%s)}" +%Y-%m-%dT%H:%M:%SZ)

# Of the objects of the programs only: a build with tests has others.
headers() {
    ninja -C "$build" -t deps |
        awk '/^[^ ]/ { ours = /^(daemon|fhir|config)\// } ours && /^ +\/usr\// { print $1 }' | sort -u | xargs -r realpath -q | sort -u
}

libraries() {
    readelf -d "${programs[@]}" | sed -n "s/.*(NEEDED).*\[\(.*\)\]\$/*\/$triplet\/\1/p" | sort -u
}

# "package:amd64: /path" to "package", of this architecture only. Files that no package owns are told.
owners() {
    xargs -r dpkg -S 2> >(sed 's/^/bill of materials: /' >&2) | sed -n 's/^\([^ ]*\): \/.*/\1/p' | tr ',' '\n' |
        sed -n "s/^ *\([^: ]*\)\$/\1/p; s/^ *\([^: ]*\):\($architecture\|$(dpkg --print-architecture)\)\$/\1/p" | sort -u
}

# What a package is called in here: letters, digits, dots and hyphens only (SPDX 2.3, section 7.2).
identifier() { echo "SPDXRef-${1//+/-}"; }

# packages NAME...: what each is, a line of JSON with a comma behind it.
packages() {
    local form name version source source_version
    # shellcheck disable=SC2016  # these are dpkg's variables
    form='${Package} ${Version} ${source:Package} ${source:Version} ${Architecture}\n'
    dpkg-query -W -f "$form" "$@" | awk -v ours="$architecture" '$5 == ours || $5 == "all" || !($1 in seen) { seen[$1] = $0 } END { for (name in seen) print seen[name] }' |
        sort | while read -r name version source source_version _; do
        cat <<END
    {"SPDXID": "$(identifier "$name")", "name": "$name", "versionInfo": "$version", "supplier": "Organization: Debian",
     "sourceInfo": "built from the Debian source package $source $source_version", "downloadLocation": "NOASSERTION",
     "licenseConcluded": "NOASSERTION", "licenseDeclared": "NOASSERTION", "copyrightText": "NOASSERTION",
     "filesAnalyzed": false, "externalRefs": [{"referenceCategory": "PACKAGE-MANAGER", "referenceType": "purl",
     "referenceLocator": "pkg:deb/debian/$name@${version//+/%2B}?arch=$architecture"}]},
END
    done
}

# relation TYPE NAME...: what the programs have to do with each.
relation() {
    local type=$1 name
    shift
    for name in "$@"; do
        echo "    {\"spdxElementId\": \"SPDXRef-nightferry\", \"relationshipType\": \"$type\", \"relatedSpdxElement\": \"$(identifier "$name")\"},"
    done
}

built_from=$(headers | owners)
loaded=$(libraries | owners)
[ -n "$built_from" ] || { echo "bill of materials: the build in $build does not tell which headers went into it" >&2; exit 1; }
[ -n "$loaded" ] || { echo "bill of materials: no package has the libraries that the programs load" >&2; exit 1; }
# The same programs have the same name here, others another.
identity=$(sha256sum "${programs[@]}" | cut -d' ' -f1 | sha256sum | cut -c1-32)

# shellcheck disable=SC2086  # the lists are meant to fall apart into words
cat <<END
{
  "spdxVersion": "SPDX-2.3",
  "dataLicense": "CC0-1.0",
  "SPDXID": "SPDXRef-DOCUMENT",
  "name": "nightferry-$version-$architecture",
  "documentNamespace": "urn:nightferry:bill-of-materials:$version:$architecture:$identity",
  "creationInfo": {"created": "$created", "creators": ["Tool: nightferry-bill_of_materials.sh-$version"]},
  "packages": [
$(packages $built_from $loaded)
    {"SPDXID": "SPDXRef-nightferry", "name": "nightferry", "versionInfo": "$version", "downloadLocation": "NOASSERTION",
     "licenseConcluded": "Apache-2.0", "licenseDeclared": "Apache-2.0", "copyrightText": "NOASSERTION",
     "filesAnalyzed": false}
  ],
  "relationships": [
$(relation GENERATED_FROM $built_from)
$(relation DYNAMIC_LINK $loaded)
    {"spdxElementId": "SPDXRef-DOCUMENT", "relationshipType": "DESCRIBES", "relatedSpdxElement": "SPDXRef-nightferry"}
  ]
}
END
