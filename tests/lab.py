"""JupyterLab for the tests: started offline on a copy of the notebooks, and driven in a browser."""

import contextlib
import ctypes
import json
import os
import shutil
import signal
import socket
import subprocess
import sys
import time
import urllib.request
import uuid

from .cases import ROOT

OVERRIDES = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False, "doNotDisturbMode": True},
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
    "@jupyterlab/docmanager-extension:plugin": {"autosave": False},
}
READY = """async () => {
  while (!window.jupyterapp?.shell?.currentWidget?.context) await new Promise(done => setTimeout(done, 50));
  const panel = window.jupyterapp.shell.currentWidget;
  await panel.context.ready; await panel.revealed; await panel.sessionContext.ready;
  await panel.sessionContext.session.kernel.info; return true }"""
RANGES = """['xaxis', 'yaxis'].map(axis => document.querySelector('.cost-panel .js-plotly-plot')._fullLayout[axis].range)"""
FINISHED = """() => {
  const prompts = [...document.querySelectorAll('.jp-NotebookPanel:not(.lm-mod-hidden) .jp-CodeCell .jp-InputPrompt')];
  return prompts.length && prompts.every(prompt => /\\[\\d+\\]/.test(prompt.textContent)) }"""
DRAWN = """count => {
  const plots = [...document.querySelectorAll('.jp-OutputArea .js-plotly-plot')];
  const panels = [...document.querySelectorAll(".cost-panel")];
  return plots.length >= count && plots.every(plot => plot._fullData)
    && panels.every(panel => panel.querySelector(".js-plotly-plot")) }"""
# presses a key on the slider that has the focus; gives the milliseconds until the frame with the panel's pictures drawn anew, which
# are drawn in one go
PRESSED = """([key, place]) => new Promise((done, failed) => {
  const plot = document.querySelector(`${place} .js-plotly-plot`), start = performance.now();
  const numbers = () => JSON.stringify(plot.data.map(trace => [trace.x, trace.y])), before = numbers();
  const look = () => {
    if (numbers() === before) return;  // drawn anew for another reason, as after an echo of the last move
    plot.removeListener('plotly_afterplot', look);
    requestAnimationFrame(() => done(performance.now() - start)) };
  setTimeout(() => failed(new Error('nothing was drawn')), 10000);
  plot.on('plotly_afterplot', look);
  document.activeElement.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true, cancelable: true})) })"""


def tells_its_parent():
    """End the server when the test process ends, however it ends (Linux; elsewhere the fixture ends it)."""
    with contextlib.suppress(OSError, AttributeError):
        ctypes.CDLL("libc.so.6").prctl(1, signal.SIGTERM)


# what a widget is waited for is over at once, as if the browser were so busy that it came late
LATE = "const own = AbortSignal.timeout.bind(AbortSignal); AbortSignal.timeout = () => own(0);"


@contextlib.contextmanager
def running_lab(folder):
    """A JupyterLab on copies of notebooks and demo cases in a folder; gives its address."""
    shutil.copytree(ROOT / "notebooks", folder / "work" / "notebooks", ignore=shutil.ignore_patterns("my_case", ".ipynb*"))
    shutil.copytree(ROOT / "inputs_demo", folder / "work" / "inputs_demo")
    places = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "JUPYTERLAB_SETTINGS_DIR",
              "JUPYTERLAB_WORKSPACES_DIR", "IPYTHONDIR")  # fmt: skip
    environment = os.environ | {name: str(folder / name.lower()) for name in places}
    settings = folder / "jupyter_config_dir" / "labconfig"
    settings.mkdir(parents=True)
    (settings / "default_setting_overrides.json").write_text(json.dumps(OVERRIDES))
    with socket.socket() as found:
        found.bind(("127.0.0.1", 0))
        port = found.getsockname()[1]
    command = [sys.executable, "-m", "jupyterlab", "--no-browser", "--ip=127.0.0.1", f"--port={port}", "--ServerApp.port_retries=0",
               f"--ServerApp.root_dir={folder / 'work'}", "--IdentityProvider.token=", "--ServerApp.password=",
               "--ServerApp.allow_root=True", "--ServerApp.terminals_enabled=False", "--LabApp.extension_manager=readonly",
               "--LabApp.expose_app_in_browser=True"]  # fmt: skip
    with (folder / "lab.log").open("w") as log:
        server = subprocess.Popen(command, env=environment, stdout=log, stderr=log, preexec_fn=tells_its_parent)
        try:
            address = f"http://127.0.0.1:{port}"
            _wait_for(f"{address}/api/status", server)
            yield address
        finally:
            server.terminate()
            server.wait(20)


def _wait_for(address, server):
    for _ in range(600):
        with contextlib.suppress(OSError), urllib.request.urlopen(address, timeout=5):
            return
        assert server.poll() is None, "JupyterLab ended by itself"
        time.sleep(0.1)
    raise AssertionError("JupyterLab did not start in a minute")


class Notebook:
    """A notebook in a tab of the browser, with a fresh kernel."""

    def __init__(self, browser, address, name, script=""):
        """`script` runs in the tab before all else."""
        self.tab = browser.new_page(viewport={"width": 1440, "height": 1000})
        self.tab.add_init_script(script)
        self.tab.set_default_timeout(180_000)  # a machine may be busy
        self.outside = []
        self.tab.on("request", lambda request: self.outside.append(request.url) if _is_outside(request.url, address) else None)
        url = f"{address}/lab/workspaces/{uuid.uuid4().hex}/tree/notebooks/{name}.ipynb"
        self.tab.goto(url, wait_until="domcontentloaded")
        self.tab.locator(".jp-NotebookPanel:not(.lm-mod-hidden) .jp-Notebook").wait_for()
        self.tab.evaluate(READY)
        self.tab.evaluate("window.jupyterapp.commands.execute('application:toggle-left-area')")

    def run_all(self, pictures=1):
        """Run all cells and wait until they have run and so many pictures are drawn."""
        self.tab.evaluate("window.jupyterapp.commands.execute('notebook:run-all-cells')")
        self.tab.wait_for_function(FINISHED)
        self.tab.wait_for_function(DRAWN, arg=pictures)

    def troubles(self):
        """Errors and warnings that cells have put out, and requests to anywhere but the server."""
        cells = "[...document.querySelectorAll('.jp-OutputArea-output')]"
        kinds = "['application/vnd.jupyter.stderr', 'application/vnd.jupyter.error']"
        shown = self.tab.evaluate(f"{cells}.filter(e => {kinds}.includes(e.dataset.mimeType)).map(e => e.textContent)")
        return [*shown, *self.outside]

    def control(self, address):
        """The box of one control: its name bears the address."""
        return self.tab.locator(".cost-panel .widget-vbox", has=self.tab.locator(f"span[title='{address}']")).last

    def slide(self, address, keys):
        """Move a slider by pressing keys."""
        handle = self.control(address).get_by_role("slider")
        handle.focus()
        for key in keys:
            handle.press(key)

    def type(self, address, text):
        """Type a value beside a slider."""
        field = self.control(address).locator("input[type=text]")
        field.fill(text)
        field.press("Enter")

    def typed(self, address):
        """What stands in the field beside a slider."""
        return self.control(address).locator("input[type=text]").input_value()

    def stands_at(self, address, text):
        """Wait until a text stands in the field beside a slider, which the kernel writes after the picture."""
        from playwright.sync_api import expect

        expect(self.control(address).locator("input[type=text]")).to_have_value(text)

    def redraw_time(self, handle, key, place):
        """Milliseconds from a key on a slider to the frame in which the pictures of a place are drawn anew."""
        handle.focus()
        return self.tab.evaluate(PRESSED, [key, place])

    def zoom(self):
        """Draw a frame in the first picture of the panel, and give the ranges of its axes then."""
        surface = self.tab.locator(".cost-panel .nsewdrag").first
        surface.scroll_into_view_if_needed()
        before, box = self.ranges(), surface.bounding_box()
        self.tab.mouse.move(box["x"] + 60, box["y"] + 60)
        self.tab.mouse.down()
        self.tab.mouse.move(box["x"] + 260, box["y"] + 260, steps=4)
        self.tab.mouse.up()
        self.tab.wait_for_function(f"before => JSON.stringify({RANGES}) !== JSON.stringify(before)", arg=before)
        return self.ranges()

    def ranges(self):
        """The ranges of both axes of the first picture of the panel."""
        return self.tab.evaluate(RANGES)

    def drawn(self, number=0):
        """The numbers behind a picture of the panel, for each of its traces."""
        plot = "document.querySelectorAll('.cost-panel .js-plotly-plot')[k]"
        return self.tab.evaluate(f"k => {plot}._fullData.map(trace => Array.from(trace.x ?? []))", number)

    def close(self):
        """End the kernel and close the tab."""
        self.tab.evaluate("window.jupyterapp.serviceManager.sessions.shutdownAll()")
        self.tab.close()


def _is_outside(url, address):
    return url.startswith(("http", "ws")) and not url.split("//", 1)[1].startswith(address.split("//", 1)[1])
