"""A hand at the real window: starts a display and the editor, finds controls by name, clicks, drags, types.

Needs Xvfb, xdotool and imagemagick. Scripts use it as a context, which ends what it has started:

    with Window(project) as window:
        window.click("Add vent")
"""

import os
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from pathlib import Path
from typing import NamedTuple

ROOT = Path(__file__).resolve().parents[2]


class Failed(Exception):
    """What went wrong, in words."""


class Control(NamedTuple):
    """A control of the window; its box in pixels."""

    role: str
    name: str
    value: str
    left: float
    top: float
    right: float
    bottom: float
    state: str
    # Between which heights of the window it is seen, if it can be scrolled.
    low: float | None
    high: float | None

    @property
    def middle(self):
        return (self.left + self.right) / 2, (self.top + self.bottom) / 2


class Window:
    """The editor in a window that fills a display of its own."""

    def __init__(self, project=None, size=(1280, 800), theme="Light", arguments=(), folder=None):
        self.project, self.size, self.theme, self.arguments = project, size, theme, list(arguments)
        self.own_folder = folder is None
        self.folder = Path(tempfile.mkdtemp()) if folder is None else Path(folder)
        self.processes = []
        target = Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
        self.program = Path(os.environ.get("KEEPSIDE", target / "debug" / "keepside"))

    def __enter__(self):
        # Whoever ends the script ends what it has started as well.
        signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
        try:
            self._open_display()
            self.start()
        except BaseException:
            self.__exit__()
            raise
        return self

    def __exit__(self, *_):
        for process in reversed(self.processes):
            process.kill()
            process.wait()
        if self.own_folder:
            shutil.rmtree(self.folder, ignore_errors=True)

    def _open_display(self):
        reading, writing = os.pipe()
        width, height = self.size
        server = subprocess.Popen(
            ["Xvfb", "-displayfd", str(writing), "-screen", "0", f"{width}x{height}x24", "-nolisten", "tcp",
             "-noreset"],
            pass_fds=[writing],
            stderr=subprocess.DEVNULL,
        )
        self.processes.append(server)
        os.close(writing)
        with os.fdopen(reading) as pipe:
            number = pipe.readline().strip()
        if not number:
            raise Failed("no display")
        self.environment = os.environ | {
            "DISPLAY": f":{number}",
            "XDG_CONFIG_HOME": str(self.folder / "config"),
            "XDG_STATE_HOME": str(self.folder / "state"),
        }

    def start(self, settle=True):
        """Starts the editor, and waits for its results unless told otherwise."""
        settings = self.folder / "config" / "keepside" / "settings.ron"
        if not settings.exists():
            settings.parent.mkdir(parents=True, exist_ok=True)
            settings.write_text(f"(theme: {self.theme})\n")
        self.listing, self.log = self.folder / "controls", self.folder / "log"
        self.listing.unlink(missing_ok=True)
        project = [] if self.project is None else [str(self.project)]
        with open(self.log, "ab") as log:
            self.editor = subprocess.Popen(
                [self.program, "--list-controls", self.listing, *self.arguments, *project],
                env=self.environment,
                stderr=log,
            )
        self.processes.append(self.editor)
        self.until("the window did not open", lambda: self.listing.exists(), 60)
        self.number = ""

        def found():
            words = self.run("search", "--onlyvisible", "--pid", str(self.editor.pid)).split()
            self.number = words[-1] if words else ""
            return bool(words)

        self.until("no window", found, 30)
        width, height = map(str, self.size)
        # Without a window manager nothing has the keyboard.
        self.run("windowfocus", "--sync", self.number)
        self.run("windowmove", self.number, "0", "0", "windowsize", self.number, width, height, "sleep", "0.5")
        if settle:
            self.settle()

    def run(self, *words):
        """One call of xdotool; what it prints."""
        words = ["xdotool", *map(str, words)]
        done = subprocess.run(words, env=self.environment, capture_output=True, text=True, check=False)
        return done.stdout

    def until(self, words, is_true, seconds=60):
        """Waits until `is_true`; fails with `words` if that never comes, or the editor has ended."""
        end = time.monotonic() + seconds
        while not is_true():
            self.check()
            if time.monotonic() > end:
                raise Failed(words)
            time.sleep(0.05)

    def check(self):
        """Fails if the editor has ended."""
        if self.editor.poll() is not None:
            raise Failed(f"the editor ended with {self.editor.returncode}: {self.log.read_text()}")

    # What there is.

    def lines(self):
        return [line.split("\t") for line in self.listing.read_text().splitlines()]

    def history(self):
        """Steps that can be undone, steps that can be redone, and whether nothing is being computed."""
        _, undo, redo, state = self.lines()[0]
        return int(undo), int(redo), state == "settled"

    def controls(self):
        return [
            Control(*row[:3], *map(float, row[3:7]), row[7], *(float(at) if at else None for at in row[8:]))
            for row in self.lines()
            if len(row) == 10
        ]

    def all(self, name=None, role=None, value=None):
        """Every control of that name, role and value; a name that ends in … is a beginning."""

        def fits(control):
            if name is not None and not same(control.name, name):
                return False
            return (role is None or control.role == role) and (value is None or same(control.value, value))

        return [control for control in self.controls() if fits(control)]

    def find(self, name=None, role=None, value=None, index=0, seconds=30):
        """Waits for a control and returns it."""
        found = []

        def there():
            found[:] = self.all(name, role, value)
            return len(found) > (index if index >= 0 else -index - 1)

        self.until(f"no {role or 'control'} {name or value!r}", there, seconds)
        return found[index]

    def settle(self, seconds=180):
        """Waits until nothing is computed and nothing moves any more."""
        time.sleep(0.15)
        self.until("the window did not settle", lambda: self.history()[2], seconds)
        self.rest()

    def work(self, seconds=900):
        """Waits until something is being computed, if that is to come, and then until it is done."""
        end = time.monotonic() + 10
        while self.history()[2] and time.monotonic() < end:
            time.sleep(0.02)
        self.settle(seconds)

    def rest(self):
        """Waits until nothing moves any more."""
        before = None
        for _ in range(100):
            text = self.listing.read_text()
            if text == before:
                return
            before = text
            time.sleep(0.2)

    def at(self, x_mm, y_mm):
        """Where a place of the plan is in the window, pixels."""
        rows = []

        def is_shown():
            rows[:] = [row for row in self.lines() if row[0] == "Plan"]
            return bool(rows)

        self.until("the plan is not shown", is_shown)
        x, y, scale = map(float, rows[0][1:4])
        return x + x_mm * scale, y - y_mm * scale

    # What is done.

    def key(self, *keys, pause=0.15):
        self.run("key", "--window", self.number, *keys, "sleep", pause)

    def type(self, text, pause=0.15):
        # Typing takes all words that follow, so that nothing else can stand in the same call.
        self.run("type", "--window", self.number, "--delay", "12", text)
        time.sleep(pause)

    def point(self, place, pause=0.1):
        x, y = place
        self.run("mousemove", "--window", self.number, round(x), round(y), "sleep", pause)

    def press(self, place, button=1, pause=0.25, times=1):
        """Clicks at a place of the window, pixels."""
        x, y = place
        self.run("mousemove", "--window", self.number, round(x), round(y), "sleep", "0.12",
                 "click", "--repeat", times, "--delay", "60", button, "sleep", pause)

    def press_mm(self, x_mm, y_mm, **how):
        """Clicks at a place of the plan."""
        self.press(self.at(x_mm, y_mm), **how)
        self.rest()

    def click(self, name=None, role=None, index=0, **how):
        """Clicks on the middle of a control; scrolls it into sight first, if need be."""
        control = self.sight(name, role, index)
        self.press(control.middle, **how)
        return control

    def sight(self, name=None, role=None, index=0):
        """Waits for a control, and turns the wheel over its panel until it is in sight."""
        control, still = self.find(name, role, index=index), 0
        for _ in range(80):
            if control.low is None or (control.top >= control.low and control.bottom <= control.high):
                # Scrolling comes to rest slowly.
                self.rest()
                again = self.find(name, role, index=index)
                if again == control:
                    return control
                control = again
                continue
            if still > 4 and 0 <= control.top and control.bottom <= self.size[1]:
                # It stands beside what is scrolled.
                return control
            before = control
            button = 5 if control.bottom > control.high else 4
            self.run("mousemove", "--window", self.number, round(control.left) + 12,
                     round((control.low + control.high) / 2), "click", button, "sleep", "0.2")
            control = self.find(name, role, index=index)
            still = still + 1 if control == before else 0
        raise Failed(f"{name!r} cannot be brought into sight")

    def fill(self, name, text, role=None, index=0):
        """Types into a field in place of what stands there."""
        for _ in range(4):
            self.click(name, role, index)
            self.until(f"{name!r} did not get the keyboard", lambda: self.has_keyboard(name), 30)
            self.rest()
            self.key("ctrl+a", pause=0.1)
            self.type(text)
            self.key("Return")
            self.rest()
            # On a busy machine a key may come before the field is ready for it.
            if number(self.find(name, role, index=index).value) == number(text):
                return
        raise Failed(f"{name!r} does not take {text!r}")

    def place(self, tool, key, name, x_mm, y_mm):
        """Adds an item at a place of the plan; `name` is what names of such items begin with."""
        for _ in range(4):
            before = len(self.all(f"{name}…"))
            self.use(tool, key)
            self.press_mm(x_mm, y_mm)
            try:
                self.until("", lambda: len(self.all(f"{name}…")) > before, 5)
            except Failed:
                continue
            return
        raise Failed(f"no {name!r} at {x_mm}, {y_mm}")

    def choose(self, name, option):
        """Chooses an option out of a list that drops down."""
        for _ in range(5):
            self.click(name, "ComboBox")
            try:
                found = self.find(option, "Button", seconds=3)
            except Failed:
                continue
            self.press(found.middle)
            self.rest()
            return
        raise Failed(f"{name!r} does not offer {option!r}")

    def has_keyboard(self, name):
        return any("keyboard" in control.state for control in self.all(name))

    def use(self, tool, key):
        """Takes a tool by its key, and waits until it is at hand."""
        self.rest()
        self.key(key)
        self.until(f"{tool!r} is not at hand", lambda: any("on" in c.state.split() for c in self.all(tool)), 30)

    def drag(self, start, end, steps=12):
        """Drags from one place of the window to another in small steps, as a hand does it."""
        (x, y), (to_x, to_y) = start, end
        words = ["mousemove", "--window", self.number, round(x), round(y), "sleep", "0.1", "mousedown", 1]
        for step in range(1, steps + 1):
            part = step / steps
            words += ["mousemove", "--window", self.number]
            words += [round(x + (to_x - x) * part), round(y + (to_y - y) * part), "sleep", "0.015"]
        self.run(*words, "sleep", "0.1", "mouseup", 1, "sleep", "0.15")

    def picture(self, file, crop=None):
        """Takes a picture of the window, or of a box of it: left, top, right, bottom."""
        words = ["import", "-window", "root"]
        if crop:
            left, top, right, bottom = map(round, crop)
            words += ["-crop", f"{right - left}x{bottom - top}+{left}+{top}", "+repage"]
        subprocess.run([*words, str(file)], env=self.environment, check=True)

    def resident_mb(self):
        """Resident memory of the editor, MB."""
        status = Path(f"/proc/{self.editor.pid}/status").read_text()
        row = next(row for row in status.splitlines() if row.startswith("VmRSS"))
        return int(row.split()[1]) / 1024


def number(text):
    """The number that a text begins with, else the text."""
    try:
        return float(text.split()[0].rstrip("°%"))
    except (ValueError, IndexError):
        return text


def same(text, wanted):
    return text.startswith(wanted[:-1]) if wanted.endswith("…") else text == wanted
