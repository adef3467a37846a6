"""How fast a ride is proved, beside the general CSV readers, in one run on one machine.

    cargo build --release -p app && python3 benches/prove.py [--gigabyte]

Ten hours at ten samples a second with twelve columns are simulated once (benches/ride_log.py), then read and judged by
`backdrive prove`, and only read by polars and pyarrow where they are installed (pip install polars pyarrow). Prints wall
and processor time and the ratio; judges nothing. With --gigabyte the same hours follow one another until the file has a
gigabyte, and the most memory that `backdrive prove` took is printed beside that for ten hours.
"""

import os
import subprocess
import sys
import tempfile
import time
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
BINARY = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target")) / "release" / "backdrive"
JOB = ROOT / "demo" / "0117-bread-longtail.toml"
FOLDER = Path(os.environ.get("BENCH_FOLDER", tempfile.gettempdir()))
READ = {
    "polars": "import polars; polars.read_csv({0!r})",
    "pyarrow": "import pyarrow.csv as c; c.read_csv({0!r})",
}
TIMED = "import time; {load}; w, c = time.perf_counter(), time.process_time(); {work}; " \
        "print(time.perf_counter() - w, time.process_time() - c)"


def simulated():
    path = FOLDER / "backdrive-ten-hours.csv"
    if not path.exists():
        with path.open("w") as out:
            subprocess.run([sys.executable, ROOT / "benches" / "ride_log.py", "10"], stdout=out, check=True)
    return path


def gigabyte(path):
    long = FOLDER / "backdrive-gigabyte.csv"
    if not long.exists():
        header, *rows = path.read_text().splitlines()
        with long.open("w") as out:
            out.write(header + "\n")
            shift = 0.0
            while out.tell() < 1_000_000_000:
                for row in rows:
                    seconds, rest = row.split(",", 1)
                    out.write(f"{float(seconds) + shift:.1f},{rest}\n")
                shift += 36_100.0
    return long


def prove(path):
    begin = time.perf_counter()
    process = subprocess.Popen([BINARY, "prove", JOB, path], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    _, status, used = os.wait4(process.pid, 0)
    if os.waitstatus_to_exitcode(status) > 1:
        sys.exit(f"prove failed: {status}")
    return time.perf_counter() - begin, used.ru_utime + used.ru_stime, used.ru_maxrss / 1024


def best(runs):
    return min(runs, key=lambda run: run[0])


def main():
    path = simulated()
    megabytes = path.stat().st_size / 1e6
    wall, processor, memory = best([prove(path) for _ in range(7)])
    print(f"{megabytes:.0f} MB, best of 7")
    print(f"backdrive prove, read and judged   {1e3 * wall:6.0f} ms wall {1e3 * processor:6.0f} ms processor {memory:6.0f} MiB")
    for name, work in READ.items():
        load, call = work.format(str(path)).split("; ")
        script = TIMED.format(load=load, work=call)
        runs = [subprocess.run([sys.executable, "-c", script], capture_output=True, text=True) for _ in range(5)]
        if runs[0].returncode:
            print(f"{name}: not installed")
            continue
        there, cpu = best([tuple(map(float, run.stdout.split())) for run in runs])
        print(f"{name}, read only   {1e3 * there:21.0f} ms wall {1e3 * cpu:6.0f} ms processor; prove takes "
              f"{wall / there:.2f} times its wall, {processor / cpu:.2f} times its processor time")
    if "--gigabyte" in sys.argv[1:]:
        wall, processor, most = prove(gigabyte(path))
        print(f"a gigabyte: {wall:.1f} s wall, {processor:.1f} s processor, {most:.0f} MiB (ten hours: {memory:.0f} MiB)")


if __name__ == "__main__":
    main()
