#!/usr/bin/env bash
# The report in a real browser: it asks nothing of anywhere, fits a phone and a desk, a light and a dark screen and
# paper. Its HTML through a strict parser, its tables through another language's reader, its sums in exact
# decimal arithmetic. With BLESS=1 the picture in the README is taken again.
#
# Needs chromium, python3 and html5lib. Run from the root of the checkout after `cargo build`.
set -euo pipefail
here=$(dirname "$(realpath "$0")")
. "$here/common.sh"
trap 'rm -rf "$home"' EXIT
# Debian's own Python has Debian's html5lib, whichever comes first on the path.
python=python3
"$python" -c "import html5lib" 2>/dev/null || python=/usr/bin/python3
ask() { "$python" "$here/report.py" "$@"; }

# A browser that knows no network; what it would ask by itself is turned off.
browse() {
  timeout 120 chromium --headless --no-sandbox --disable-gpu --hide-scrollbars --no-first-run --disable-sync \
    --disable-background-networking --disable-component-update --disable-default-apps --disable-extensions \
    --host-resolver-rules="MAP * ~NOTFOUND" --user-data-dir="$home/browser" "$@" >"$home/browser.out" 2>"$home/browser.err"
}

page=$home/hut.html
"$program" demo --report "$page" >/dev/null
"$program" demo --report "$home/hut.csv" >/dev/null
ask conforming "$page"
ask table "$home/hut.csv"

# A job whose names are as bad as names can be.
"$program" reading 20 --humidity 55 >/dev/null
for name in '=1+1' '@x' '<script>alert(1)</script>' '"><img src=http://example.org/x>'; do
  "$program" coat "$name" varnish-two-part --done --new >/dev/null
done
"$program" report "$home/bad.html" >/dev/null
"$program" report "$home/bad.csv" >/dev/null
"$program" report --readings "$home/readings.csv" >/dev/null
ask conforming "$home/bad.html"
ask table "$home/bad.csv"
ask table "$home/readings.csv"

read -r paid minutes < <(ask job "$home/sums.jsonl")
CUREWRIGHT_JOB=$home/sums.db "$program" record --import "$home/sums.jsonl" >/dev/null
CUREWRIGHT_JOB=$home/sums.db "$program" report "$home/sums.md" >/dev/null
ask sums "$home/sums.md" "$paid" "$minutes"

# A page that asks is seen to ask; the reports ask for nothing.
echo '<!DOCTYPE html><title>x</title><img src="http://example.org/x.png">' >"$home/asks.html"
for one in asks hut bad; do
  browse --log-net-log="$home/net.json" --window-size=1280,900 --screenshot="$home/$one.png" "file://$home/$one.html"
  wanted=none
  [ "$one" = asks ] && wanted=http://example.org/x.png
  ask requests "$home/net.json" "$wanted"
done

for width in 390 1280; do
  browse --window-size="$width",1400 --screenshot="$home/light.png" "file://$page"
  ask picture "$home/light.png" "$width" light
done
browse --blink-settings=preferredColorScheme=0 --window-size=390,1400 --screenshot="$home/dark.png" "file://$page"
ask picture "$home/dark.png" 390 dark

browse --no-pdf-header-footer --print-to-pdf="$home/hut.pdf" "file://$page"
[ "$(head -c 5 "$home/hut.pdf")" = "%PDF-" ] || fail "the page cannot be printed"
echo "ok: it prints"

# Measured by a script that the page itself would not run: in a copy without its policy, in a frame as wide as
# the screen (a headless window is never narrower than 500).
cat >"$home/measure.js" <<'JS'
addEventListener("load", () => {
  const root = document.documentElement;
  let small = 99;
  for (const text of document.querySelectorAll("svg text")) small = Math.min(small, text.getBoundingClientRect().height);
  const wide = [];
  for (const one of document.querySelectorAll("body *"))
    if (!one.closest(".scroll, svg") && one.getBoundingClientRect().right > innerWidth + 0.5) wide.push(one.outerHTML.slice(0, 80));
  parent.postMessage({ inner: innerWidth, scroll: root.scrollWidth, small, wide }, "*");
});
JS
sed -e 's|<meta http-equiv="Content-Security-Policy"[^>]*>||' -e "s|</body>|<script src=\"measure.js\"></script></body>|" "$page" >"$home/measured.html"
measure() {
  cat >"$home/frame.html" <<HTML
<!DOCTYPE html><title>x</title>
<script>addEventListener("message", told => document.documentElement.setAttribute("data-measured", JSON.stringify(told.data)))</script>
<iframe src="$1" style="border:0;width:${2}px;height:2000px"></iframe>
HTML
  browse --window-size=1400,2000 --virtual-time-budget=4000 --dump-dom "file://$home/frame.html"
  ask measured "$home/browser.out" "$2"
}
for width in 390 1280; do measure measured.html "$width"; done

# The page that `watch` keeps for a phone, with the bad names: it counts down, fits, asks for nothing, and says that it is
# old where nobody wrote it again.
shop=$home/shop.html
"$program" watch --once --no-desktop --page "$shop" >/dev/null 2>&1
ask conforming "$shop"
sed -e 's|<meta http-equiv="Content-Security-Policy"[^>]*>||' -e "s|</body>|<script src=\"measure.js\"></script></body>|" "$shop" >"$home/shop_measured.html"
measure shop_measured.html 390
browse --log-net-log="$home/net.json" --dump-dom "file://$shop"
ask requests "$home/net.json" none
grep -q 'id="old" hidden' "$home/browser.out" || fail "a new page is called old"
grep -q 'As of [^<]*, just now' "$home/browser.out" || fail "the script of the page does not run"
sed -E "s|data-at=\"[^\"]*\"|data-at=\"$(date -u -d '-20 min' +%Y-%m-%dT%H:%M:%SZ)\"|" "$shop" >"$home/old.html"
browse --dump-dom "file://$home/old.html"
grep -q '<body class="old">' "$home/browser.out" || fail "a page of 20 minutes ago is not called old"
grep -q ', 20 min ago' "$home/browser.out" || fail "an old page does not say how old it is"
echo "ok: the page for a phone counts, and says when it is old"

if [ "${BLESS:-}" = 1 ]; then
  browse --window-size=1040,1460 --screenshot="$here/../../docs/report.png" "file://$page"
  echo "the picture was taken"
fi
[ -s "$here/../../docs/report.png" ] || fail "docs/report.png is not there: BLESS=1 bash tests/services/report.sh"
