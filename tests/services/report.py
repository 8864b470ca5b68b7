"""What tests/services/report.sh asks of files: is the page conforming HTML, is the table a table, are the sums
exact, is a picture blank, did the page stay inside its width. Standard library, and html5lib for the page."""

import csv
import decimal
import html
import json
import re
import struct
import sys
import zlib
from datetime import datetime, timedelta, timezone


def fail(what):
    sys.exit(f"FAILED: {what}")


def conforming(path):
    """Strict: html5lib raises at the first parse error (the parser of the WHATWG's HTML standard)."""
    import html5lib

    text = open(path, encoding="utf-8").read()
    tree = html5lib.HTMLParser(strict=True, namespaceHTMLElements=False).parse(text)
    for table in tree.iter("table"):
        heads = [cell for row in table.find("thead") for cell in row]
        if not heads or any(cell.tag != "th" or cell.get("scope") != "col" for cell in heads):
            fail("a table without heads")
    print(f"ok: {path} parses without a fault")


def table(path):
    """Python's own reader of CSV, and no cell that a spreadsheet takes for a formula (OWASP, CSV Injection)."""
    with open(path, newline="", encoding="utf-8") as file:
        rows = list(csv.reader(file, strict=True))
    if len(rows) < 2 or any(len(row) != len(rows[0]) for row in rows):
        fail(f"{path}: rows of different lengths, or none")
    for row in rows:
        for cell in row:
            number = re.fullmatch(r"-\d+(\.\d+)?", cell)
            if cell[:1] in ("=", "+", "-", "@", "\t", "\r") and not number:
                fail(f"{path}: {cell!r} is a formula")
    print(f"ok: {path} is a table of {len(rows) - 1} rows")


def job(path):
    """A job as JSON Lines with many tins and many minutes of work; the sums in exact decimal arithmetic."""
    start = datetime(2026, 5, 1, tzinfo=timezone.utc)
    entries, paid, minutes = [], decimal.Decimal(0), 0
    number = 12345
    for index in range(400):
        # A linear congruential generator: the same job every time.
        number = (number * 1103515245 + 12345) % 2**31
        at = (start + timedelta(minutes=3 * index)).strftime("%Y-%m-%dT%H:%M:%SZ")
        if index % 2:
            price = decimal.Decimal(number % 100000) / decimal.Decimal(100)
            paid += price
            body = {"what": "stock", "product": "epoxy-sealer", "amount": {"mass_g": 500.0}, "price": str(price)}
        else:
            worked = number % 600 + 1
            minutes += worked
            body = {"what": "work", "area": "roof", "minutes": worked}
        entries.append({"entry": {"id": index + 1, "at": at, "recorded": at, "body": body}})
    head = {"job": {"version": 1, "program": "test", "at": "2026-05-01T00:00:00Z"}}
    lines = [head, *entries]
    lines.append({"end": {"lines": len(lines) + 1}})
    with open(path, "w", encoding="utf-8") as file:
        file.writelines(json.dumps(line) + "\n" for line in lines)
    print(paid, minutes)


def sums(report, paid, minutes):
    text = open(report, encoding="utf-8").read()
    minutes = int(minutes)
    for told in (f"In all {decimal.Decimal(paid):.2f}.", f"| In all | {minutes // 60} h {minutes % 60:02} min |"):
        if told not in text:
            fail(f"{report} does not say {told!r}")
    print("ok: hours and money are exact")


def decoded(path):
    """The lines of a PNG of eight bits a channel (ISO/IEC 15948), filters undone."""
    data = open(path, "rb").read()
    if data[:8] != b"\x89PNG\r\n\x1a\n":
        fail(f"{path} is no picture")
    width, height, depth, kind = struct.unpack(">IIBB", data[16:26])
    channels = {2: 3, 6: 4}[kind]
    packed, at = b"", 8
    while at < len(data):
        length, name = struct.unpack(">I4s", data[at : at + 8])
        packed += data[at + 8 : at + 8 + length] if name == b"IDAT" else b""
        at += 12 + length
    raw, stride = zlib.decompress(packed), width * channels
    before, lines = bytearray(stride), []
    for row in range(height):
        filter_kind = raw[row * (stride + 1)]
        line = bytearray(raw[row * (stride + 1) + 1 : (row + 1) * (stride + 1)])
        for i in range(stride):
            left = line[i - channels] if i >= channels else 0
            up, corner = before[i], before[i - channels] if i >= channels else 0
            if filter_kind == 1:
                add = left
            elif filter_kind == 2:
                add = up
            elif filter_kind == 3:
                add = (left + up) // 2
            elif filter_kind == 4:
                p = left + up - corner
                pa, pb, pc = abs(p - left), abs(p - up), abs(p - corner)
                add = left if pa <= pb and pa <= pc else up if pb <= pc else corner
            else:
                add = 0
            line[i] = (line[i] + add) & 255
        lines.append(line)
        before = line
    return depth, width, channels, lines


def picture(path, width, ground):
    """Not blank: many colours, and a ground that is light or dark."""
    _, found, channels, lines = decoded(path)
    colours = {bytes(line[i : i + 3]) for line in lines for i in range(0, len(line), channels)}
    light = sum(lines[5][:3]) > 3 * 128
    if found != int(width) or len(colours) < 40 or light != (ground == "light"):
        fail(f"{path}: {found} wide, {len(colours)} colours, ground {'light' if light else 'dark'}")
    print(f"ok: {path} is {found} wide, with {len(colours)} colours on a {ground} ground")


def measured(path, width):
    text = open(path, encoding="utf-8").read()
    found = re.search(r'data-measured="([^"]*)"', text)
    if not found:
        fail("the page was not measured")
    said = json.loads(html.unescape(found.group(1)))
    if said["inner"] != int(width) or said["scroll"] > said["inner"] or said["wide"]:
        fail(f"at {width}: {said['inner']} and {said['scroll']} wide, {said['wide'][:3]}")
    if said["small"] < 12:
        fail(f"at {width} the drawings' words are {said['small']} high")
    print(f"ok: at {width} nothing is wider than the page, and words in drawings are {said['small']:.0f} high")


def requests(path, wanted):
    """Chromium's own log of the network. What the browser asks by itself has "not an origin" as its initiator;
    what a page asks for has the page. (The log may be cut off when the browser ends; its lines are whole.)"""
    asked = set()
    for line in open(path, encoding="utf-8", errors="replace"):
        found = re.search(r'"initiator":"([^"]*)".*?"url":"([^"]*)"', line)
        if found and found.group(1) != "not an origin" and not found.group(2).startswith(("file:", "data:")):
            asked.add(found.group(2))
    if sorted(asked) != [url for url in [wanted] if url != "none"]:
        fail(f"asked for: {sorted(asked)}")
    print(f"ok: asked for: {wanted}")


if __name__ == "__main__":
    globals()[sys.argv[1]](*sys.argv[2:])
