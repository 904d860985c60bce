#!/bin/sh
# Types, form, rules. Every step runs, so that one run shows all that is wrong; steps that hold are one line each.
cd "$(dirname "$0")/../.." || exit 1
failed=0
PATH="$PWD/node_modules/.bin:$PATH"
output=$(mktemp)
trap 'rm -f "$output"' EXIT

step() {
  name=$1
  shift
  began=$(date +%s)
  if "$@" >"$output" 2>&1; then
    echo "ok    $name ($(($(date +%s) - began)) s)"
  else
    failed=$((failed + 1))
    echo "FAIL  $name: $*"
    cat "$output"
  fi
}

step 'types' tsc -p tsconfig.json
step 'types of the page' tsc -p src/page/tsconfig.json
step 'format and lint' biome check --error-on-warnings .
step 'promises and switches' oxlint --type-aware --deny-warnings
step 'arrows between rooms' depcruise --config .dependency-cruiser.mjs src simulator tests
step 'nothing unused' knip
step 'house rules' node --import tsx tests/support/house-rules.ts
exit "$failed"
