"""A JupyterLab server and a real browser that may speak to 127.0.0.1 only."""

from __future__ import annotations

import json
import os
import re
import shutil
import socket
import subprocess
import sys
import time
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import TYPE_CHECKING, Any

import pytest

if TYPE_CHECKING:
    from collections.abc import Callable

    from playwright.sync_api import Browser, Page

PROJECT = Path(__file__).resolve().parents[2]
CHROMIUM = os.environ.get("PLANNER_KIT_CHROMIUM") or shutil.which("chromium") or ""
FLAGS = [
    "--headless", "--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run",
    "--disable-background-networking", "--disable-component-update", "--disable-sync",
]  # fmt: skip
WAIT_MS = 120_000
# The rules of WCAG 2.2 up to level AA and the engine's own best practices.
AXE_RULES = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
KEPT = PROJECT / "tests" / "diary" / "kept_records" / "schema_2" / "facts.json"


def serious_findings(page: Page, context: str | None = None) -> list[str]:
    """What axe-core grades serious or critical in a page, or in the parts named, a line each."""
    axe = pytest.importorskip("axe_playwright_python.sync_playwright", reason="no axe-core")
    options = {"resultTypes": ["violations"], "runOnly": AXE_RULES}
    found = axe.Axe().run(page, context=context, options=options)
    return [
        f"{fault['id']}: {node['html'][:160]} {node['failureSummary'][:200]}"
        for fault in found.response["violations"]
        if fault["impact"] in ("serious", "critical")
        for node in fault["nodes"]
    ]


@pytest.fixture
def findings() -> Callable[[Page], list[str]]:
    """`serious_findings`, for pages that are no notebooks."""
    return serious_findings


@dataclass
class Opened:
    """A notebook in the browser, run to its end."""

    page: Page
    console: list[str] = field(default_factory=list)
    refused: list[str] = field(default_factory=list)

    def serious_findings(self) -> list[str]:
        """What the accessibility engine axe-core finds in the notebook's own outputs.

        JupyterLab's menus, toolbars, side bars and prompts are outside: they are not ours to mend.
        """
        return serious_findings(self.page, ".jp-Notebook .jp-OutputArea-output")

    def wider_than_the_page(self) -> list[str]:
        """Outputs that stick out of the notebook's column and cannot be scrolled themselves."""
        return self.page.evaluate(
            """() => [...document.querySelectorAll('.jp-OutputArea-output')]
                .filter(box => box.scrollWidth > box.clientWidth + 2)
                .map(box => box.innerText.slice(0, 120) + ' ' + box.scrollWidth
                    + ' > ' + box.clientWidth)"""
        )

    def charts_off_their_width(self) -> list[str]:
        """Charts that are not drawn as wide as the place they have, once they had the time."""
        self.page.wait_for_timeout(1500)
        return self.page.evaluate(
            """() => [...document.querySelectorAll('.jp-OutputArea-output .js-plotly-plot')]
                .map(chart => [chart.querySelector('.main-svg').clientWidth, chart.clientWidth])
                .filter(([drawn, place]) => Math.abs(drawn - place) > 2)
                .map(([drawn, place]) => drawn + ' for ' + place)"""
        )

    def outputs_with_errors(self) -> list[str]:
        """The text of every traceback in the notebook's outputs."""
        return self.page.locator(
            '.jp-OutputArea-output[data-mime-type="application/vnd.jupyter.error"],'
            '.jp-OutputArea-output[data-mime-type="application/vnd.jupyter.stderr"]'
        ).all_inner_texts()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    """Debian's chromium, without a window."""
    sync_api = pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    if not CHROMIUM:
        pytest.skip("chromium is not installed")
    with sync_api.sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield chromium
        chromium.close()


@pytest.fixture(scope="session")
def lab(browser: Browser, tmp_path_factory: pytest.TempPathFactory, demo: Path) -> Iterator[str]:
    """The address of a JupyterLab that serves a copy of the notebooks, set to the demo."""
    home = tmp_path_factory.mktemp("lab")
    shutil.copytree(PROJECT / "notebooks", home / "notebooks")
    shutil.copytree(demo, home / "island")
    keep_records(home / "island" / "records")
    for path in (home / "notebooks").glob("*.ipynb"):
        set_folder(path, home / "island")
    with running_lab(home, home / "notebooks") as address:
        yield address


@contextmanager
def running_lab(home: Path, root: Path) -> Iterator[str]:
    """The address of a JupyterLab that serves `root` and keeps all it writes in `home`."""
    settings = home / "settings" / "@jupyterlab"
    _set(
        settings / "apputils-extension" / "notification.jupyterlab-settings",
        {"fetchNews": "false", "checkForUpdates": False, "doNotDisturbMode": True},
    )
    # All cells stand in the page, so that what is below the fold can be read too.
    _set(settings / "notebook-extension" / "tracker.jupyterlab-settings", {"windowingMode": "none"})
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port = probe.getsockname()[1]
    log = (home / "log").open("w")
    server = subprocess.Popen(
        [
            sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1",
            f"--port={port}", "--ServerApp.port_retries=0", "--allow-root",
            "--IdentityProvider.token=", "--ServerApp.password=", "--ServerApp.open_browser=False",
            "--ServerApp.disable_check_xsrf=True",
            f"--ServerApp.root_dir={root}",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
            f"--LabApp.user_settings_dir={home / 'settings'}",
            f"--LabApp.workspaces_dir={home / 'workspaces'}",
        ],
        stdout=log,
        stderr=subprocess.STDOUT,
        env={**os.environ, "JUPYTER_CONFIG_DIR": str(home / "config"),
             "JUPYTER_DATA_DIR": str(home / "data"), "IPYTHONDIR": str(home / "ipython"),
             "JUPYTER_RUNTIME_DIR": str(home / "runtime")},
    )  # fmt: skip
    address = f"http://127.0.0.1:{port}"
    try:
        _wait_for(f"{address}/api/status", server, home / "log")
        yield address
    finally:
        server.terminate()
        server.wait(timeout=20)
        log.close()


@pytest.fixture
def open_notebook(lab: str, browser: Browser) -> Iterator[Any]:
    """A function that opens a notebook by name, runs all its cells and waits for the end."""
    contexts = []

    def opened(name: str, *, width: int = 1280, height: int = 1000) -> Opened:
        context = browser.new_context(viewport={"width": width, "height": height})
        contexts.append(context)
        page = context.new_page()
        result = Opened(page)
        page.on("console", lambda m: result.console.append(m.text) if m.type == "error" else None)
        page.on("pageerror", lambda error: result.console.append(str(error)))

        def only_here(route: Any) -> None:
            address = route.request.url
            if address.startswith((lab, "data:", "blob:")):
                route.continue_()
            else:
                result.refused.append(address)
                route.abort()

        page.route("**/*", only_here)
        page.goto(f"{lab}/doc/tree/{name}?reset", wait_until="domcontentloaded", timeout=WAIT_MS)
        run_all(page)
        return result

    yield opened
    for context in contexts:
        context.close()
    _end_kernels(lab)


def run_all(page: Page) -> None:
    """Run all cells of the notebook that a page opens, to the end."""
    page.locator(".jp-Notebook .jp-CodeCell").first.wait_for(timeout=WAIT_MS)
    _wait_idle(page)
    page.locator(".lm-MenuBar-itemLabel", has_text="Run").first.click()
    page.locator(".lm-Menu-itemLabel", has_text=re.compile("^Run All Cells$")).click()
    _wait_run(page)


def _end_kernels(lab: str) -> None:
    """End every kernel, so that a long run of tests does not fill the memory."""
    with urllib.request.urlopen(f"{lab}/api/kernels", timeout=20) as answer:
        kernels = json.load(answer)
    for kernel in kernels:
        request = urllib.request.Request(f"{lab}/api/kernels/{kernel['id']}", method="DELETE")
        urllib.request.urlopen(request, timeout=20).close()


def _set(path: Path, values: dict[str, Any]) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(json.dumps(values), encoding="utf-8")


def keep_records(folder: Path) -> None:
    """Two records of earlier trips, so that there is something to look back on and compare."""
    facts = json.loads(KEPT.read_text(encoding="utf-8"))
    for name, cost in (("2025-07-26_early", 700.0), ("2026-07-25_late", 805.28)):
        (folder / name).mkdir(parents=True)
        facts["trip"]["start"] = name[:10]
        for figure in facts["figures"]:
            if figure["key"] == "cost.likely":
                figure["value"] = cost
        (folder / name / "facts.json").write_text(json.dumps(facts), encoding="utf-8")


def set_folder(path: Path, demo: Path) -> None:
    """Write the demo's folder into a notebook's parameters, as a person would."""
    notebook = json.loads(path.read_text(encoding="utf-8"))
    for cell in notebook["cells"]:
        if "parameters" in cell["metadata"].get("tags", []):
            source = "".join(cell["source"]).replace('folder = ""', f"folder = {str(demo)!r}")
            cell["source"] = source.splitlines(keepends=True)
    path.write_text(json.dumps(notebook), encoding="utf-8")


def _wait_for(address: str, server: subprocess.Popen[bytes], log: Path) -> None:
    until = time.monotonic() + 40
    while time.monotonic() < until:
        if server.poll() is not None:
            pytest.fail(f"JupyterLab ended at once:\n{log.read_text()[-2000:]}")
        try:
            with urllib.request.urlopen(address, timeout=2):
                return
        except OSError:
            time.sleep(0.2)
    pytest.fail(f"JupyterLab did not answer:\n{log.read_text()[-2000:]}")


def _wait_idle(page: Page) -> None:
    page.get_by_text("(ipykernel) | Idle").wait_for(timeout=WAIT_MS)


def _wait_run(page: Page) -> None:
    """Until every code cell has a number and none still waits."""
    page.wait_for_function(
        """() => {
            const prompts = [...document.querySelectorAll(
                '.jp-Notebook .jp-CodeCell .jp-InputPrompt')].map(p => p.textContent.trim());
            return prompts.length > 0 && prompts.every(p => /^\\[\\d+\\]:$/.test(p));
        }""",
        timeout=WAIT_MS,
    )
    _wait_idle(page)
