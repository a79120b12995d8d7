#!/usr/bin/env bash
# The package for another architecture: compiled in a bare system, and the tests that only compute run there under an
# emulator.
#
#   tests/package/foreign.sh [ARCHITECTURE] [OUT]     Debian's name for it, arm64 if left out; the package goes to OUT
#
# Needs root, debootstrap and the way to a Debian mirror, and an hour or two.
set -euo pipefail

top=$(cd "$(dirname "$0")/../.." && pwd)
architecture=${1:-arm64}
work=$(mktemp -d)
root=$work/root
. "$top/deploy/packages.sh"
. "$top/tests/support/bare_system.sh"
. "$top/tests/package/steps.sh"
install_missing debootstrap git

clean_up() {
    leave_bare_system
    rm -rf "$work"
}
trap clean_up EXIT

claim "a bare system gets what compiles for $architecture"
mkdir "$root"
make_bare_system "$(. /etc/os-release && echo "$VERSION_CODENAME")" "$work/debootstrap.log"
enter_bare_system
git clone -q "$top" "$root/root/nightferry"
# The published FHIR examples, which are for every machine.
(cd "$root/root/nightferry/tests/peers" && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error)
inside "{ dpkg --add-architecture $architecture && apt-get update && apt-get install -y --no-install-recommends git ca-certificates; } \
    >/root/packages.log 2>&1 || { tail -n 20 /root/packages.log >&2; exit 1; }"
# Its own Node.js is there for the names of tests only.
inside "cd /root/nightferry && . deploy/packages.sh && install_missing \$(build_packages) \$(package_packages) \$(cross_packages $architecture) \
    nodejs libgtest-dev:$architecture libgmock-dev:$architecture"

claim "the package is built, and its programs are for $architecture"
inside "cd /root/nightferry && deploy/package.sh --arch $architecture --out /root/out"
inside "dpkg-deb -x /root/out/nightferry_*_$architecture.deb /root/unpacked"
compiler=$(inside "dpkg-architecture -a $architecture -q DEB_HOST_GNU_TYPE 2>/dev/null")
machine=$(inside "dpkg-architecture -a $architecture -q DEB_HOST_GNU_CPU 2>/dev/null")
expect "nightferryd " "$(inside "qemu-$machine-static /root/unpacked/usr/sbin/nightferryd --version")"
inside "test -s /root/unpacked/usr/share/man/man8/nightferryd.8.gz"
[ -z "${2:-}" ] || cp "$root"/root/out/nightferry_*.deb "$2/"

claim "the tests that only compute pass under an emulator"
inside "cd /root/nightferry && cmake -S . -B /root/build -G Ninja -DNIGHTFERRY_TESTS=ON -DCMAKE_SYSTEM_NAME=Linux \
    -DCMAKE_SYSTEM_PROCESSOR=$machine -DCMAKE_C_COMPILER=$compiler-gcc -DCMAKE_CXX_COMPILER=$compiler-g++ \
    -DCMAKE_CROSSCOMPILING_EMULATOR=/usr/bin/qemu-$machine-static >/root/configure.log 2>&1 &&
    cmake --build /root/build >/root/build.log 2>&1 || { tail -n 30 /root/configure.log /root/build.log >&2; exit 1; }"
inside "ctest --test-dir /root/build -L unit --output-on-failure --timeout 3000 --parallel $(nproc)"
