#!/usr/bin/env python3
"""The questions about past jobs, put to DuckDB over the exported Parquet tables: do the answers agree, and how long
does each take?

  LUGWISE_ARCHIVE_KEEP=FOLDER cargo bench --bench archive
  python3 tests/reference/archive_peer.py FOLDER

FOLDER holds jobs.parquet and events.parquet, and ours.json with this program's answers and their milliseconds. Needs
`pip install duckdb`. Counts must be the same, numbers within 1e-9 of their size. What the checks are counted by is not
in the tables, so the peer takes it from the events' lines; it knows nothing of events that were undone or corrected,
which the invented jobs do not have. Prints a Markdown table; ends with 1 when an answer differs.
"""

import json
import statistics
import sys
import time
from pathlib import Path

import duckdb

ROUNDS = 5

WHAT = "coalesce(last_kind, 'none named')"
MOMENT = "strptime({}, '%Y-%m-%dT%H:%M:%SZ')"
PAIR = """least(regexp_extract(line, 'red:"([^"]*)"', 1), regexp_extract(line, 'black:"([^"]*)"', 1)) || ' to ' ||
  greatest(regexp_extract(line, 'red:"([^"]*)"', 1), regexp_extract(line, 'black:"([^"]*)"', 1))"""


def rate(happened, among="true"):
    return f"""SELECT {WHAT} AS name, count(*) FILTER (WHERE {happened}) AS count, count(*) AS n FROM jobs s
      WHERE ending <> 'open' AND {among} GROUP BY 1"""


CAME_BACK = f"""(s.uid IN (SELECT e.uid FROM owned e JOIN owned l ON e.owner = l.owner AND e.uid <> l.uid
    AND l.opened >= e.closed AND l.opened <= e.closed + INTERVAL 90 DAY)
  OR s.uid IN (SELECT warranty_of FROM jobs WHERE warranty_of IS NOT NULL))"""

OWNED = f"""WITH owned AS (SELECT uid, lower(trim(customer)) || chr(10) || lower(trim(instrument)) AS owner,
    {MOMENT.format('opened_at')} AS opened, {MOMENT.format('closed_at')} AS closed FROM jobs
  WHERE trim(instrument) <> '') """

SKIPS = f"""WITH skip AS (SELECT uid, regexp_extract(line, 'measurement:\\((.*)\\),reason:', 1) AS measured,
    max(number) AS number, any_value({PAIR}) AS name FROM events WHERE event = 'skipped' GROUP BY 1, 2),
  read AS (SELECT uid, regexp_extract(line, 'measurement:\\((.*)\\),typed:', 1) AS measured, number
    FROM events WHERE event = 'read')
  SELECT name, count(*) AS count FROM skip s WHERE NOT EXISTS
    (SELECT 1 FROM read r WHERE r.uid = s.uid AND r.measured = s.measured AND r.number > s.number) GROUP BY 1"""

QUESTIONS = {
    "weeks": """SELECT strftime(date_trunc('week', CAST(substr(opened_at, 1, 10) AS DATE)), '%Y-%m-%d') AS monday,
      count(*) AS n, count(*) FILTER (WHERE ending <> 'open') AS closed FROM jobs GROUP BY 1""",
    "minutes": f"""SELECT {WHAT} AS name, quantile_cont(search_minutes + repair_minutes, 0.25) AS lower,
      quantile_cont(search_minutes + repair_minutes, 0.5) AS median,
      quantile_cont(search_minutes + repair_minutes, 0.75) AS upper, count(*) AS n FROM jobs
      WHERE ending <> 'open' GROUP BY 1""",
    "pareto": f"SELECT {WHAT} AS name, count(*) AS n FROM jobs WHERE last_fault IS NOT NULL GROUP BY 1",
    "checks": f"SELECT {PAIR} AS name, count(*) AS n FROM events WHERE event = 'read' GROUP BY 1",
    "renamed": rate("renamed = 1", "first_fault IS NOT NULL"),
    "comebacks": OWNED + rate(CAME_BACK),
    "unproven": rate("ending = 'unproven'"),
    "skipped": SKIPS,
    "calibration": """SELECT least(CAST(floor(first_probability * 10) AS INTEGER), 9) / 10.0 AS low,
      count(*) FILTER (WHERE ending = 'cured' AND renamed = 0) AS came_true, count(*) AS n,
      avg(first_probability) AS announced FROM jobs
      WHERE ending <> 'open' AND first_probability IS NOT NULL GROUP BY 1""",
}


def by_probes(rows, column):
    """Adds up what this program tells of each measurement by the terminals under the probes."""
    sums = {}
    for row in rows:
        words = row["name"].split(", ")
        pair = words[1].split(" to ") if len(words) > 1 and " to " in words[1] else ["", ""]
        name = " to ".join(sorted(pair))
        sums[name] = sums.get(name, 0) + row[column]
    return [{"name": name, column: count} for name, count in sums.items()]


def ours(chart, rows):
    """Returns this program's rows with what the peer also counts."""
    if chart == "checks":
        return by_probes(rows, "n")
    if chart == "skipped":
        return by_probes(rows, "count")
    if chart == "calibration":
        return [row for row in rows if row["n"] > 0]
    return rows


def same(one, other):
    if isinstance(one, float) or isinstance(other, float):
        return abs(one - other) <= 1e-9 * max(1.0, abs(one))
    return one == other


def differences(chart, mine, peer, columns):
    key = columns[0]
    keyed = lambda rows: {str(round(row[key], 6) if key == "low" else row[key]): row for row in rows}
    mine, peer = keyed(mine), keyed(peer)
    wrong = [f"{chart}: only one of both has {name}" for name in sorted(mine.keys() ^ peer.keys())]
    for name in sorted(mine.keys() & peer.keys()):
        for column in columns[1:]:
            if not same(mine[name][column], peer[name][column]):
                wrong.append(f"{chart}, {name}: {column} is {mine[name][column]} here, {peer[name][column]} there")
    return wrong


def main():
    folder = Path(sys.argv[1])
    told = json.loads((folder / "ours.json").read_text())
    base = duckdb.connect()
    for table in ("jobs", "events"):
        base.execute(f"CREATE VIEW {table} AS SELECT * FROM read_parquet('{folder / table}.parquet')")
    print("| question | here, ms | peer, ms | here / peer | rows | answers |\n| --- | ---: | ---: | ---: | ---: | --- |")
    wrong = []
    for chart, question in QUESTIONS.items():
        times = []
        for _ in range(ROUNDS):
            begun = time.perf_counter()
            cursor = base.execute(question)
            columns = [column[0] for column in cursor.description]
            rows = [dict(zip(columns, row)) for row in cursor.fetchall()]
            times.append((time.perf_counter() - begun) * 1e3)
        for row in rows:
            row.update({name: float(value) for name, value in row.items() if name == "low"})
        mine = ours(chart, told[chart]["rows"])
        found = differences(chart, mine, rows, columns)
        wrong += found
        here, peer = told[chart]["ms"], statistics.median(times)
        said = f"{len(found)} differ" if found else "the same"
        print(f"| {chart} | {here:.1f} | {peer:.1f} | {here / peer:.2f} | {len(rows)} | {said} |")
    for line in wrong[:40]:
        print(line, file=sys.stderr)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
