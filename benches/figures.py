"""The figures of the benches, whole process and per segment, as ratios.

    cargo build --release && python3 benches/figures.py

Needs Python 3.9 or later with NumPy. Jobs are written to a temporary folder by `big_job`.
"""

import fcntl
import os
import pty
import resource
import select
import statistics
import struct
import subprocess
import sys
import tempfile
import termios
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PROGRAM = ROOT / "target/release/curewright"
AT = "2026-05-02T17:00:00Z"
RUNS = 15


def job(folder: Path, years: int) -> Path:
    file = folder / f"{years}.db"
    command = ["cargo", "bench", "-q", "--bench", "big_job", "--", str(file), str(years)]
    subprocess.run(command, cwd=ROOT, check=True, stdout=subprocess.DEVNULL)
    return file


def environment(folder: Path) -> dict:
    return {"HOME": str(folder), "PATH": os.environ["PATH"], "TERM": "xterm-256color", "TZ": "UTC"}


def whole_process(arguments: list, folder: Path):
    """Median wall time in ms and peak memory in MB of a run, after one that is not counted."""
    walls, peak = [], 0
    for run in range(RUNS + 1):
        begun = time.perf_counter()
        child = os.posix_spawn(
            str(PROGRAM), [str(PROGRAM), *arguments], environment(folder),
            file_actions=[(os.POSIX_SPAWN_OPEN, 1, "/dev/null", os.O_WRONLY, 0)],
        )
        _, status, usage = os.wait4(child, 0)
        wall = (time.perf_counter() - begun) * 1e3
        if status:
            sys.exit(f"{arguments} ended with {status}")
        if run:
            walls.append(wall)
            peak = max(peak, usage.ru_maxrss / 1024)
    return statistics.median(walls), peak


def first_frame(file: Path, folder: Path) -> float:
    """Median time in ms from the start to the last byte of the first frame, at 200 by 50."""
    times = []
    for run in range(RUNS + 1):
        begun = time.perf_counter()
        child, terminal = pty.fork()
        if child == 0:
            fcntl.ioctl(1, termios.TIOCSWINSZ, struct.pack("HHHH", 50, 200, 0, 0))
            os.execve(str(PROGRAM), [str(PROGRAM), "--job", str(file)], environment(folder))
        seen, last = b"", begun
        while time.perf_counter() - begun < 2:
            ready, _, _ = select.select([terminal], [], [], 0.05)
            if not ready:
                if b"quit" in seen:
                    break
                continue
            seen += os.read(terminal, 65536)
            last = time.perf_counter()
        os.write(terminal, b"q")
        os.waitpid(child, 0)
        os.close(terminal)
        if run:
            times.append((last - begun) * 1e3)
    return statistics.median(times)


def idle(file: Path, folder: Path, seconds: float):
    """Share of a core, and voluntary context switches a second, of a board that is left alone."""
    child, terminal = pty.fork()
    if child == 0:
        os.execve(str(PROGRAM), [str(PROGRAM), "--job", str(file)], environment(folder))

    def drain(until):
        while time.perf_counter() < until:
            ready, _, _ = select.select([terminal], [], [], 0.2)
            if ready:
                os.read(terminal, 65536)

    def spent():
        ticks, switches = 0, 0
        for task in Path(f"/proc/{child}/task").iterdir():
            fields = (task / "schedstat").read_text().split()
            ticks += int(fields[0])
            for line in (task / "status").read_text().splitlines():
                if "ctxt_switches" in line:
                    switches += int(line.split()[1])
        return ticks / 1e9, switches

    drain(time.perf_counter() + 2)
    (cpu, switches), begun = spent(), time.perf_counter()
    drain(begun + seconds)
    (cpu_after, switches_after), took = spent(), time.perf_counter() - begun
    os.write(terminal, b"q")
    os.waitpid(child, 0)
    return (cpu_after - cpu) / took * 100, (switches_after - switches) / took


def three_point(segments: int = 1_000_000) -> float:
    """ns a segment of NumPy's three-point Gauss quadrature of the same one-point rate."""
    # Not before: a child's peak memory counts that of the process it was started from.
    import numpy as np

    minutes = np.arange(segments + 1)
    day = minutes / 1440 * 2 * np.pi
    kelvin = 288.15 + 6 * np.sin(day) + ((minutes * 7919 % 101) - 50) / 400
    slope, reference = 51_200 / 8.314462618, 293.15
    nodes, weights = np.polynomial.legendre.leggauss(3)
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        a, b = kelvin[:-1], kelvin[1:]
        total = 0.0
        for node, weight in zip(nodes, weights):
            total += weight / 2 * np.sum(np.exp(slope / reference - slope / (a + (b - a) * (node + 1) / 2)))
        times.append((time.perf_counter() - begun) / segments * 1e9)
    return statistics.median(times)


def import_million(folder: Path) -> float:
    """Seconds to import a million rows."""
    file = folder / "logger.csv"
    with file.open("w") as out:
        out.write("time,temperature,humidity\n")
        start = 1_700_000_000
        for row in range(1_000_000):
            moment = time.strftime("%Y-%m-%dT%H:%M:%SZ", time.gmtime(start + row * 60))
            out.write(f"{moment},{15 + row % 97 / 20:.2f},{50 + row % 31}\n")
    times = []
    for run in range(3):
        begun = time.perf_counter()
        command = [str(PROGRAM), "--job", str(folder / f"import{run}.db"), "import", str(file)]
        subprocess.run(command, env=environment(folder), check=True, stdout=subprocess.DEVNULL)
        times.append(time.perf_counter() - begun)
    return statistics.median(times)


def main():
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        year, decade = job(folder, 1), job(folder, 10)
        status = lambda file: whole_process(["--job", str(file), "--at", AT, "status"], folder)
        (a, peak), (b, _) = status(year), status(decade)
        print(f"(a) cold status on a year of minute readings, 200 coats: {a:.1f} ms, {peak:.1f} MB")
        print(f"    first frame of the board at 200x50: {first_frame(year, folder):.1f} ms")
        print(f"(b) ten years: {b:.1f} ms, {b / a:.2f} times (a)")
        reference = three_point()
        kernel = subprocess.run(
            ["cargo", "bench", "-q", "--bench", "kernel"], cwd=ROOT, check=True, capture_output=True, text=True
        ).stdout
        for line in filter(None, kernel.splitlines()):
            words = line.split(": ")
            if "segment" in line:
                own = float(words[1].split()[0])
                print(f"(c) {line}; {own / reference:.2f} times NumPy's three points ({reference:.1f} ns)")
            else:
                print(f"(d) {line}")
        print(f"(e) import of a million rows: {import_million(folder):.2f} s")
        plan = subprocess.run(
            ["cargo", "bench", "-q", "--bench", "plan"], cwd=ROOT, check=True, capture_output=True, text=True
        ).stdout
        for line in filter(None, plan.splitlines()):
            print(f"(g) {line}")
        share, switches = idle(year, folder, 20)
        print(f"(f) idle: {share:.3f} % of a core, {switches:.1f} context switches a second")


if __name__ == "__main__":
    main()
