#!/usr/bin/env bash
# Installs what the tests need, builds everything, runs every test, and ends with one line that says how it
# went. Options:
#   --sanitize    with AddressSanitizer and UndefinedBehaviorSanitizer, in build-sanitize/
#   --only REGEX  only tests whose name matches
set -euo pipefail

top=$(cd "$(dirname "$0")/.." && pwd)
export DEBIAN_FRONTEND=noninteractive
. "$top/deploy/packages.sh"

build=${NIGHTFERRY_BUILD:-$top/build}
sanitize=OFF
only=.
while [ $# -gt 0 ]; do
    case $1 in
        --sanitize) sanitize=ON; build=${NIGHTFERRY_BUILD:-$top/build-sanitize} ;;
        --only) only=$2; shift ;;
        *) sed -n '2,6s/^# \{0,1\}//p' "$0" >&2; exit 64 ;;
    esac
    shift
done

started=$SECONDS
refresh_package_lists
# shellcheck disable=SC2046
install_missing $(build_packages) $(test_packages)

# The published FHIR examples and the third-party FHIR server.
peers=$top/tests/peers
if [ ! -d "$peers/node_modules" ] || [ "$peers/package-lock.json" -nt "$peers/node_modules/.complete" ]; then
    echo "Installing the test peers from npm"
    (cd "$peers" && npm ci --ignore-scripts --no-audit --no-fund --loglevel=error)
    touch "$peers/node_modules/.complete"
fi

echo "Building"
cmake -S "$top" -B "$build" -G Ninja -DNIGHTFERRY_TESTS=ON -DNIGHTFERRY_SANITIZE=$sanitize >/dev/null
cmake --build "$build" -- --quiet
built=$((SECONDS - started))

# Those that run programs beside each other, and look how long that takes, run alone.
echo "Testing"
results=$build/test-results.txt
status=0
(cd "$build" && ctest --parallel "$(nproc)" --output-on-failure --no-tests=error -R "$only" --output-junit "$build/test-results.xml") | tee "$results" || status=$?

# Each program runs many cases; the closing line counts those, not the programs.
programs=$(grep -cE '^ *[0-9]+/[0-9]+ Test .*(Passed|\*\*\*)' "$results" || true)
cases=$( (sed -n 's/.*\[==========\] \([0-9]*\) tests\{0,1\} from.*ran.*/\1/p; s/^.*# tests \([0-9]*\)$/\1/p' "$build/Testing/Temporary/LastTest.log") |
    awk '{ sum += $1 } END { print sum + 0 }')
if [ "$status" -eq 0 ]; then
    echo "All is well: $cases test cases in $programs programs passed; build $built s, tests $((SECONDS - started - built)) s."
else
    echo "Something is broken: see above; every case's output is in $build/Testing/Temporary/LastTest.log"
fi
exit "$status"
