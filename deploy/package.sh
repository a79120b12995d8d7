#!/usr/bin/env bash
# Builds the Debian package in a scratch copy of the tracked files and puts it into build/packages.
#
#   deploy/package.sh                       compiles and packs
#   deploy/package.sh --prebuilt FOLDER     packs the programs of that build, for trying the package out
#   deploy/package.sh --arch ARCHITECTURE   compiles for another machine, such as arm64 (Debian's name for it)
#   deploy/package.sh --out FOLDER          where the package goes
#   deploy/package.sh --scratch FOLDER      where the copy is made; it must not be there yet
#
# DEBFULLNAME and DEBEMAIL say who maintains this build of it.
# The same commit gives the same package, byte for byte, whatever the folder.
set -euo pipefail

top=$(cd "$(dirname "$0")/.." && pwd)
export DEBIAN_FRONTEND=noninteractive
. "$top/deploy/packages.sh"

out=$top/build/packages
prebuilt=
architecture=$(dpkg --print-architecture)
scratch=
while [ $# -gt 0 ]; do
    case $1 in
        --prebuilt) prebuilt=$(cd "$2" && pwd); shift ;;
        --arch) architecture=$2; shift ;;
        --out) out=$2; shift ;;
        --scratch) scratch=$2; shift ;;
        *) sed -n '2,12s/^# \{0,1\}//p' "$0" >&2; exit 64 ;;
    esac
    shift
done

version=$(sed -n 's/^project(nightferry VERSION \([0-9.]*\).*/\1/p' "$top/CMakeLists.txt")
SOURCE_DATE_EPOCH=$(git -C "$top" log -1 --format=%ct)
export SOURCE_DATE_EPOCH LC_ALL=C.UTF-8

refresh_package_lists
# shellcheck disable=SC2046
install_missing $(build_packages) $(package_packages)
if [ "$architecture" != "$(dpkg --print-architecture)" ]; then
    dpkg --print-foreign-architectures | grep -qx "$architecture" ||
        { echo "as root first: dpkg --add-architecture $architecture && apt-get update" >&2; exit 69; }
    # shellcheck disable=SC2046
    install_missing $(cross_packages "$architecture")
fi

if [ -z "$scratch" ]; then
    scratch=$(mktemp -d)/nightferry
    trap 'rm -rf "${scratch%/nightferry}"' EXIT
fi
[ ! -e "$scratch" ] || { echo "$scratch is there already" >&2; exit 64; }
mkdir -p "$scratch" "$out"

# What is tracked, as it lies here, with the time of the last commit.
git -C "$top" ls-files -z | tar -C "$top" --null -T - --mtime="@$SOURCE_DATE_EPOCH" -cf - | tar -C "$scratch" -xf -

# As Debian's tools have it: who builds the package says who answers for it.
maintainer="${DEBFULLNAME:-Nightferry} <${DEBEMAIL:-nightferry@packages.invalid}>"

lay_out_packaging() {
    local to=$scratch/debian
    cp -a "$scratch/deploy/debian" "$to"
    sed -i "s/@BOOST@/$(boost_packages | sed 's/ /, /')/; s/@MAINTAINER@/$maintainer/" "$to/control"
    # In debian/ the helpers find them, and put them where this release of Debian wants them.
    cp "$scratch/deploy/systemd/nightferryd.service" "$to/nightferry.nightferryd.service"
    cp "$scratch/deploy/systemd/sysusers.conf" "$to/nightferry.sysusers"
    cp "$scratch/deploy/systemd/tmpfiles.conf" "$to/nightferry.tmpfiles"
    cat >"$to/changelog" <<END
nightferry ($version) unstable; urgency=medium

  * Version $version.

 -- $maintainer  $(date -u -R -d "@$SOURCE_DATE_EPOCH")
END
}

build_package() {
    (cd "$scratch" && NIGHTFERRY_PREBUILT=$prebuilt dpkg-buildpackage -b -uc -us -a "$architecture" -P"${DEB_BUILD_PROFILES:-nocheck}")
}

lay_out_packaging
log=$out/build.log
build_package >"$log" 2>&1 || { tail -n 40 "$log" >&2; echo "Building the package failed; the whole log is $log" >&2; exit 1; }
for file in "$scratch/.."/nightferry*_"${version}_$architecture".*deb; do
    cp "$file" "$out/"
    (cd "$out" && sha256sum "$(basename "$file")")
done
