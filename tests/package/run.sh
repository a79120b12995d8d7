#!/usr/bin/env bash
# Everything about the package, which takes a while: built twice in different folders without any cache, it has to be the
# same to the last byte; it lives its life in a bare system, lintian among it; and the image that is made of it runs.
#
#   tests/package/run.sh [BUILD]     BUILD has the practice clinic; build if left out. Needs root for the last parts.
set -euo pipefail

top=$(cd "$(dirname "$0")/../.." && pwd)
build=$(cd "${1:-$top/build}" && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
. "$top/deploy/packages.sh"
export DEBIAN_FRONTEND=noninteractive
install_missing debootstrap

for one in first/place second/place/further/down; do
    echo "== Building in $one"
    CCACHE_DISABLE=1 "$top/deploy/package.sh" --scratch "$work/$one/nightferry" --out "$work/out/$one"
done
cmp "$work"/out/first/place/nightferry_*.deb "$work"/out/second/place/further/down/nightferry_*.deb
echo "Both are the same to the last byte."

package=$(echo "$work"/out/first/place/nightferry_*.deb)
"$top/tests/package/life.sh" "$build" "$package"
"$top/tests/package/image.sh" "$package"
