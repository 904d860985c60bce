#!/bin/sh
# What the tests need beside npm: a real broker, a clock that can be set, a browser. Quiet where they are there; installed
# where this user may; else it says which tests will be skipped.
has() {
  case $1 in
    mosquitto) command -v mosquitto >/dev/null 2>&1 || [ -x /usr/sbin/mosquitto ] || [ -x /usr/local/sbin/mosquitto ] ;;
    strace) command -v strace >/dev/null 2>&1 ;;
    libfaketime) ls /usr/lib/*/faketime/libfaketime.so.1 >/dev/null 2>&1 ;;
    chromium) command -v chromium >/dev/null 2>&1 || [ -x /usr/bin/chromium ] ;;
  esac
}
use_of() {
  case $1 in
    mosquitto) echo 'the tests of a real broker (tests/edge/mqtt and others)' ;;
    strace) echo 'the test of a disk that hangs (tests/acceptance/hanging-disk)' ;;
    libfaketime) echo 'the tests of a clock that somebody sets (tests/acceptance/clock-steps)' ;;
    chromium) echo 'the tests of the page in a real browser (tests/browser)' ;;
  esac
}
missing() {
  for package in mosquitto libfaketime strace chromium; do has "$package" || echo "$package"; done
}
[ -z "$(missing)" ] && exit 0

if [ "$(id -u)" = 0 ]; then
  as_root=''
elif sudo -n true 2>/dev/null; then
  as_root='sudo -n'
else
  as_root='no'
fi

if [ "$as_root" != no ] && command -v apt-get >/dev/null 2>&1; then
  log=$(mktemp)
  $as_root apt-get update -qq >"$log" 2>&1 </dev/null
  # One at a time, so that one that this system does not have keeps no other away.
  for package in $(missing); do
    echo "Installing $package for $(use_of "$package")"
    $as_root env DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends "$package" \
      >"$log" 2>&1 </dev/null || tail -n 5 "$log"
  done
  rm -f "$log"
fi

[ -z "$(missing)" ] && exit 0
for package in $(missing); do
  echo "$package is not installed: $(use_of "$package") will be skipped. To run them, as root: apt-get install $package"
done
if [ -n "$CI" ]; then
  echo 'On CI none of them may be skipped.' >&2
  exit 1
fi
