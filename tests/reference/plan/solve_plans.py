#!/usr/bin/env python3
"""Solves the made-up pieces beside this file with OR-Tools' CP-SAT, and writes what it found.

    pip install ortools            # 9.x, from PyPI
    python3 solve_plans.py         # reads pieces.json, writes cp_sat.json

The pieces are whole numbers: warmth per tick, free stretches, and for every coat how much warmth opens and
closes its window, makes it sandable and cures it. The windows are reckoned here anew from those numbers;
nothing is taken over from the program that is checked. One worker, no work split over two free stretches.
The aim is the soonest end of cure and work, whatever the sandings.
"""

import json
import pathlib
import sys
import time

from ortools.sat.python import cp_model

HERE = pathlib.Path(__file__).parent
SECONDS = float(sys.argv[1]) if len(sys.argv) > 1 else 20.0
# Whatever is reached behind this is never reached.
FAR = 1_000_000


def reach(piece, start, warmth):
    """The first tick at which so much warmth has come together; the last warmth is held."""
    at, total, held = start, 0, piece["warmth"]
    while total < warmth:
        total += held[min(at, len(held) - 1)]
        at += 1
    return at


def rising(values):
    """Whoever begins later is not ready sooner."""
    most, out = 0, []
    for value in values:
        most = max(most, value)
        out.append(most)
    return out


def falling_back(values):
    least, out = FAR, []
    for value in reversed(values):
        least = min(least, value)
        out.append(least)
    return out[::-1]


def starts(piece, length):
    return [s for a, b in piece["free"] for s in range(a, b - length + 1)]


class Model:
    def __init__(self, piece):
        self.piece, self.m = piece, cp_model.CpModel()
        self.work = []
        # By place: when each film is not tack-free, and when each sanding is.
        self.wet, self.sanded = [], []
        self.end = self.m.new_int_var(0, FAR, "end")
        for area in piece["areas"]:
            self.area(area)
        self.m.add_no_overlap(self.work)
        self.dust()
        self.m.minimize(self.end)

    def dust(self):
        """No sanding beside a film that is not tack-free in the same place."""
        for room, start, tack_free, coated in self.wet:
            for other, begin, end, sanded in self.sanded:
                if other == room:
                    before = self.m.new_bool_var("")
                    both = [coated, sanded]
                    self.m.add(end <= start).only_enforce_if(both + [before])
                    self.m.add(begin >= tack_free).only_enforce_if(both + [before.negated()])

    def table(self, index, values):
        """values[index] as a variable."""
        var = self.m.new_int_var(min(values), max(values), "")
        self.m.add_element(index, values, var)
        return var

    def block(self, allowed, length, present):
        index = self.m.new_int_var(0, len(allowed) - 1, "")
        start = self.table(index, allowed)
        self.work.append(self.m.new_optional_fixed_size_interval_var(start, length, present, ""))
        self.m.add(self.end >= start + length).only_enforce_if(present)
        return index, start

    def area(self, area):
        m, piece = self.m, self.piece
        always = m.new_constant(1)
        run = None
        before = None
        coats = area["coats"]
        for number, coat in enumerate(coats):
            tape, takes, after = coat["before"], coat["takes"], coat["after"]
            length = tape + takes + after
            allowed = [
                s for s in starts(piece, length)
                if not any(a <= s + tape < b for a, b in coat["unfit"])
                and (after == 0 or coat["tape_by"] is None
                     or s + length <= reach(piece, s + tape, coat["tape_by"]))
            ]
            if not allowed:
                m.add_bool_or([])
                return
            index, start = self.block(allowed, length, always)
            # The ways to it.
            direct = m.new_bool_var("")
            prepared = direct.negated()
            if coat["follows"] == "open":
                m.add(direct == 1)
            if coat["follows"] == "prepared" or not coat["preps"] and coat["follows"] != "open" and number:
                m.add(direct == 0)
            if before is None:
                if area["open"] is None:
                    m.add(direct == 0)
                else:
                    opens, closes = area["open"]
                    m.add(start + tape >= opens).only_enforce_if(direct)
                    if closes is not None:
                        m.add(start + tape + takes <= closes).only_enforce_if(direct)
                if area["sandable"] is None or not coat["preps"]:
                    m.add(direct == 1)
                ready, free = area["sandable"] or 0, 0
            else:
                m.add(start + tape >= before["open"]).only_enforce_if(direct)
                m.add(start >= before["end"]).only_enforce_if(direct)
                m.add(start + tape + takes <= before["close"]).only_enforce_if(direct)
                ready, free = before["sand"], before["end"]
            at = None
            for work, _ in coat["preps"]:
                _, prep = self.block(starts(piece, work), work, prepared)
                self.sanded.append((area["room"], prep, prep + work, prepared))
                if at is None:
                    m.add(prep >= ready).only_enforce_if(prepared)
                    m.add(prep >= free).only_enforce_if(prepared)
                else:
                    m.add(prep >= at).only_enforce_if(prepared)
                at = prep + work
            if at is not None:
                m.add(start >= at).only_enforce_if(prepared)
            # Coats of one product wet on wet.
            if coat["run_limit"] is not None:
                now = m.new_int_var(1, coat["run_limit"], "")
                m.add(now == 1).only_enforce_if(prepared)
                if run is None or before is None:
                    m.add(now == 1)
                else:
                    m.add(now == run + 1).only_enforce_if(direct)
                run = now
            # What it leaves.
            strokes = [s + tape for s in allowed]
            tabulate = lambda key, offset: rising([reach(piece, s + offset, coat[key]) for s in strokes])
            closes = [FAR if coat["closes"] is None else reach(piece, s, coat["closes"]) for s in strokes]
            before = {
                "end": start + length,
                "open": self.table(index, tabulate("opens", takes)),
                "close": self.table(index, falling_back(closes)),
                "sand": self.table(index, tabulate("sands", takes)),
            }
            self.wet.append((area["room"], start, self.table(index, tabulate("tack", takes)), always))
            if number + 1 == len(coats):
                m.add(self.end >= self.table(index, tabulate("cures", takes)))


def main():
    pieces = json.loads((HERE / "pieces.json").read_text())
    found = []
    for number, piece in enumerate(pieces):
        model = Model(piece)
        solver = cp_model.CpSolver()
        solver.parameters.max_time_in_seconds = SECONDS
        solver.parameters.num_workers = 1
        solver.parameters.random_seed = 1
        begun = time.perf_counter()
        status = solver.solve(model.m)
        took = time.perf_counter() - begun
        ended = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        found.append({
            "piece": number,
            "status": solver.status_name(status),
            "end": int(solver.objective_value) if ended else None,
            "bound": int(solver.best_objective_bound) if ended else None,
            "seconds": round(took, 3),
        })
        print(found[-1], flush=True)
    (HERE / "cp_sat.json").write_text(json.dumps(found, indent=0) + "\n")


if __name__ == "__main__":
    main()
