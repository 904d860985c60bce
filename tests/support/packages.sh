#!/bin/sh
# What the tests need beside npm: a real broker. Quiet where it is there; installed where this user may; else it says
# which tests will be skipped.
has_mosquitto() {
  command -v mosquitto >/dev/null 2>&1 || [ -x /usr/sbin/mosquitto ] || [ -x /usr/local/sbin/mosquitto ]
}
has_mosquitto && exit 0

if [ "$(id -u)" = 0 ]; then
  as_root=''
elif sudo -n true 2>/dev/null; then
  as_root='sudo -n'
else
  as_root='no'
fi

if [ "$as_root" != no ] && command -v apt-get >/dev/null 2>&1; then
  echo 'Installing mosquitto (the broker that the link is tested against)'
  log=$(mktemp)
  { $as_root apt-get update -qq &&
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends mosquitto; } \
    >"$log" 2>&1 </dev/null || tail -n 5 "$log"
  rm -f "$log"
fi

has_mosquitto && exit 0
if [ -n "$CI" ]; then
  echo 'mosquitto is not installed and cannot be: on CI its tests may not be skipped' >&2
  exit 1
fi
echo 'mosquitto is not installed: the tests of a real broker (tests/edge/mqtt) will be skipped.'
echo 'To run them: apt-get install mosquitto, as root.'
