#!/usr/bin/env bash
# Looks for inputs at which our claims do not hold:  tests/fuzz/run.sh SECONDS [TARGET...]
# Builds the fuzz targets with clang in build-fuzz/ and runs them one after the other, each for so many seconds.
# What is found lies in build-fuzz/findings/; the committed corpora are only read.
set -euo pipefail

here=$(cd "$(dirname "$0")" && pwd)
top=$(cd "$here/../.." && pwd)
build=${NIGHTFERRY_BUILD:-$top/build-fuzz}

if [ $# -lt 1 ] || ! [[ $1 =~ ^[0-9]+$ ]]; then
    sed -n '2,4s/^# \{0,1\}//p' "$0" >&2
    exit 64
fi
seconds=$1
shift
targets=("$@")
if [ ${#targets[@]} -eq 0 ]; then
    for file in "$here"/*_fuzz.cpp; do
        name=$(basename "$file")
        targets+=("${name%_fuzz.cpp}")
    done
fi

cmake -S "$top" -B "$build" -G Ninja -DCMAKE_CXX_COMPILER=clang++ -DCMAKE_C_COMPILER=clang \
    -DNIGHTFERRY_FUZZ=ON -DNIGHTFERRY_TESTS=OFF >/dev/null
cmake --build "$build" --target "${targets[@]/#/fuzz_}" -- --quiet

mkdir -p "$build/findings"
status=0
for target in "${targets[@]}"; do
    # What an earlier run came to know is where this one goes on.
    known=$build/known/$target
    mkdir -p "$known"
    options=(-max_total_time="$seconds" -timeout=10 -rss_limit_mb=2048 -verbosity=1 -print_final_stats=1
             -artifact_prefix="$build/findings/$target-")
    [ ! -f "$here/$target.dict" ] || options+=(-dict="$here/$target.dict")
    echo "Fuzzing $target for $seconds s"
    log=$build/fuzz-$target.log
    if "$build/tests/fuzz/fuzz_$target" "${options[@]}" "$known" "$here/corpus/$target" >"$log" 2>&1; then
        sed -n 's/^stat::number_of_executed_units: */  inputs tried: /p' "$log"
    else
        tail -n 30 "$log" >&2
        echo "$target: found something, see $build/findings and $log" >&2
        status=1
    fi
done
exit "$status"
