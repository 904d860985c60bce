#!/bin/sh
# All checks and all tests; the last line is the sum of them.
cd "$(dirname "$0")/../.." || exit 1
sh tests/support/check.sh
failed_checks=$?
results=$(mktemp)
trap 'rm -f "$results"' EXIT
node_modules/.bin/vitest run --reporter=dot --reporter=json --outputFile.json="$results" "$@"
vitest_exit=$?
node --import tsx tests/support/sum-up.ts "$results" "$failed_checks" "$vitest_exit"
