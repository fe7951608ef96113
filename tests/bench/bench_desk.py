"""How long it takes from a keystroke on the desk's frame page to the new picture, and what memory edits take.

Run: python tests/bench/bench_desk.py [--edits 200] [--memory 2000] [SAMPLE]
The desk runs as it is started by its command, the page in the distribution's Chromium. Timed in the page is
what its builder waits: from the key to the drawn picture, for each of the edits; the median and the worst are
set beside what importing numpy takes in a fresh process. Then edits are sent as the page sends them, one in
twenty of them kept in the draft, and the desk's own memory is read after each tenth of them. A plain script
and no test: what it prints depends on the machine and on what else runs, the ratio less so. Linux alone tells
a process's memory so.
"""

import argparse
import http.client
import json
import re
import shutil
import statistics
import subprocess
import sys
from pathlib import Path
from tempfile import TemporaryDirectory

from playwright.sync_api import Page, sync_playwright

ROOT = Path(__file__).parents[2]
BOX = "#side .stage [data-measure='tubes.{tube}.wall']"
WATCH = """() => {
  window.took = [];
  let from = 0;
  addEventListener("keydown", () => { from = performance.now(); }, true);
  new MutationObserver((changes) => {
    const drawn = changes.some((each) => [...each.addedNodes].some((node) => node.nodeName === "svg"));
    if (drawn && from) requestAnimationFrame(() => { window.took.push(performance.now() - from); from = 0; });
  }).observe(document.querySelector("#side .stage"), { childList: true });
}"""
NUMPY = "import time; start = time.perf_counter(); import numpy; print(time.perf_counter() - start)"


def numpy_import() -> float:
    """Return the least time, ms, in which fresh processes import numpy."""
    command = [sys.executable, "-c", NUMPY]
    return 1000.0 * min(float(subprocess.check_output(command, text=True)) for _ in range(5))


def keystrokes(page: Page, edits: int, tube: str) -> list[float]:
    """Return the ms from each key to its picture."""
    page.wait_for_selector("#side svg")
    page.wait_for_selector(".finding")
    page.evaluate(WATCH)
    page.locator(BOX.format(tube=tube)).focus()
    page.keyboard.press("End")
    for number in range(edits):
        page.keyboard.press("Backspace" if number % 2 else "5")
        for _ in range(2000):
            if page.evaluate("window.took.length") > number:
                break
            page.wait_for_timeout(5)
        else:
            raise SystemExit(f"edit {number + 1} brought no picture")
        page.wait_for_timeout(60)
    found: list[float] = page.evaluate("window.took")
    return found


def resident(process: int) -> float:
    """Return the megabytes that a process holds."""
    status = Path(f"/proc/{process}/status").read_text(encoding="ascii")
    found = re.search(r"VmRSS:\s+(\d+) kB", status)
    assert found is not None
    return int(found[1]) / 1024.0


def memory(port: int, headers: dict[str, str], name: str, tube: str, edits: int, process: int) -> list[float]:
    """Return the desk's megabytes after each tenth of many edits."""
    line = http.client.HTTPConnection("127.0.0.1", port, timeout=120)
    screens = {"side": [900, 820], "behind": [440, 820]}

    def ask(what: str, value: dict[str, object]) -> dict[str, object]:
        line.request("POST", f"/frame/{name}/{what}", json.dumps({**value, "screens": screens}), headers)
        answer = line.getresponse()
        told: dict[str, object] = json.loads(answer.read())
        if answer.status != 200:
            raise SystemExit(str(told))
        return told

    digest = ask("see", {})["digest"]
    held = []
    for number in range(edits):
        value = {"key": f"tubes.{tube}.outset", "answer": f"{4 + number / edits:.4f}", "digest": digest}
        ask("set" if number % 20 == 0 else "see", value)
        if (number + 1) % max(1, edits // 10) == 0:
            held.append(resident(process))
    return held


def main() -> None:
    """Print what was measured."""
    asked = argparse.ArgumentParser()
    asked.add_argument("--edits", type=int, default=200)
    asked.add_argument("--memory", type=int, default=2000)
    asked.add_argument("sample", nargs="?", default="dunlin")
    given = asked.parse_args()
    tube = (
        "fork-leg" if 'end = "front"' in (ROOT / f"samples/{given.sample}.toml").read_text() else "seatstay"
    )
    with TemporaryDirectory() as folder:
        shutil.copy(ROOT / f"samples/{given.sample}.toml", folder)
        command = [sys.executable, "-m", "sheets", "desk", folder, "--no-browser"]
        desk = subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True)
        try:
            assert desk.stdout is not None
            lines = iter(desk.stdout.readline, "")
            address = next(found[0] for each in lines if (found := re.search(r"http://\S+", each)))
            origin = address.partition("/?")[0]
            with sync_playwright() as player:
                browser = player.chromium.launch(
                    executable_path=shutil.which("chromium") or shutil.which("chromium-headless-shell"),
                    args=["--no-sandbox"],
                )
                page = browser.new_page(viewport={"width": 1920, "height": 1080})
                page.goto(address)
                page.goto(f"{origin}/frame/{given.sample}")
                took = keystrokes(page, given.edits, tube)
                [cookie] = page.context.cookies()
                browser.close()
            median, worst, numpy = statistics.median(took), max(took), numpy_import()
            sys.stdout.write(f"{len(took)} edits: median {median:.0f} ms, worst {worst:.0f} ms\n")
            shares = f"median {median / numpy:.2f} of that, worst {worst / numpy:.2f}"
            sys.stdout.write(f"numpy imports in {numpy:.0f} ms: {shares}\n")
            headers = {
                "Content-Type": "application/json",
                "Origin": origin,
                "Cookie": f"{cookie['name']}={cookie['value']}",
            }
            port = int(origin.rpartition(":")[2])
            held = memory(port, headers, given.sample, tube, given.memory, desk.pid)
            told = ", ".join(f"{each:.1f}" for each in held)
            sys.stdout.write(
                f"{given.memory} edits: MB after each tenth {told}; grown by {held[-1] - held[0]:.1f}" + "\n"
            )
        finally:
            desk.terminate()
            desk.wait()


if __name__ == "__main__":
    main()
