#!/bin/sh
# Make sure a Chromium is there for the browser tests.
set -u
for name in chromium chromium-browser google-chrome; do
  command -v "$name" >/dev/null 2>&1 && exit 0
done
[ -n "${OVERBAR_CHROMIUM:-}" ] && [ -x "$OVERBAR_CHROMIUM" ] && exit 0
[ -x "/Applications/Chromium.app/Contents/MacOS/Chromium" ] && exit 0
if command -v apt-get >/dev/null 2>&1 && [ "$(id -u)" = 0 ]; then
  echo 'Installing chromium for the browser tests ...'
  apt-get update -qq && DEBIAN_FRONTEND=noninteractive apt-get install -y -qq --no-install-recommends chromium >/dev/null && exit 0
fi
echo 'The browser tests need Chromium and this user may not install it.'
echo 'Install it (Debian: sudo apt-get install chromium; macOS: brew install --cask chromium),'
echo 'or set OVERBAR_CHROMIUM to a Chromium that is already here, then run make test again.'
exit 1
