"""Independent count of a logger file, for expected.csv. Standard library only.

usage: count.py FILE --enc E --sep S --skip N --time COLS --format F --value C
                [--where C=V] [--offset HOURS] [--fahrenheit] [--comma] [--daily] [--unix]

Columns count from 0; --time takes one column or two joined by a space. Rows
without a time or a number are left out; of rows with one time and one value
all but the first are left out; rows with one time and several values are all
left out. --offset is the offset of the file from UTC. Prints readings, first,
last (UTC, or the date), minimum and maximum.
"""
import argparse
import csv
import io
from datetime import datetime, timedelta

p = argparse.ArgumentParser()
p.add_argument("file")
p.add_argument("--enc", default="utf-8-sig")
p.add_argument("--sep", default=",")
p.add_argument("--skip", type=int, default=1)
p.add_argument("--time", default="0")
p.add_argument("--format", default="%Y-%m-%d %H:%M:%S")
p.add_argument("--value", type=int, default=1)
p.add_argument("--where", default="")
p.add_argument("--offset", type=float, default=0)
for flag in ("fahrenheit", "comma", "daily", "unix"):
    p.add_argument("--" + flag, action="store_true")
a = p.parse_args()

text = open(a.file, encoding=a.enc, newline="").read()
rows = list(csv.reader(io.StringIO(text), delimiter=a.sep.replace("tab", "\t")))[a.skip:]
times = [int(c) for c in a.time.split(",")]
seen = {}
for row in rows:
    if a.where and row[int(a.where.split("=")[0])] != a.where.split("=")[1]:
        continue
    try:
        stamp = " ".join(row[c].strip() for c in times)
        t = datetime(1970, 1, 1) + timedelta(seconds=int(stamp)) if a.unix else datetime.strptime(stamp, a.format)
        cell = row[a.value].strip().replace("\u2212", "-")
        v = float(cell.replace(",", ".") if a.comma else cell)
        if v != v:
            continue
    except (ValueError, IndexError):
        continue
    if a.fahrenheit:
        v = (v - 32) * 5 / 9
    seen.setdefault(t - timedelta(hours=a.offset), set()).add(v)
kept = {t: next(iter(v)) for t, v in seen.items() if len(v) == 1}
show = (lambda t: t.strftime("%Y-%m-%d")) if a.daily else (lambda t: t.strftime("%Y-%m-%dT%H:%M:%SZ"))
print(f"{len(kept)},{show(min(kept))},{show(max(kept))},{min(kept.values()):.6f},{max(kept.values()):.6f}")
