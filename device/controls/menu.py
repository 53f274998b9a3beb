"""Changes the settings on the box itself: three buttons turn the pages and change the values.

    at home --third held--> turning pages --third--> changing a value --third--> turning pages
                                 |  next, previous: another page; or another value, held: a leap
                                 +--third held, or nothing pressed for 20 s--> home

There are two rounds of pages: those of the lesson, and, once next and previous were held together, the
teacher's, whose last leads back to the file. A change counts at once and stays. With the teacher's lock
on, the pages open only to the chord. A value whose targets would bring a string near its breaking load
is passed over.
"""

from dataclasses import dataclass, replace
from typing import Any

from device.config.settings import Refuse, Settings
from device.controls.menu_pages import LESSON_PAGES, PAGES, TEACHER_PAGES, Page
from device.events import Button, ChordHeld, Held, Press
from device.panel.scene import MenuView
from device.practice.table import PRACTICES
from device.version import DATE, VERSION
from dsp import Seconds

LEAVES_AFTER_S = Seconds(20.0)  # chosen: time to read a page twice, short enough for the next child
NOTICE_S = Seconds(4.0)  # chosen: a page that only tells what was changed
FROM_FILE = "from-file"  # the last of the teacher's pages: back to what the file says
FIRST = LESSON_PAGES[0].key
PRACTISE = {f"practise-{practice.name}": practice.name for practice in PRACTICES}
"""The last pages of the lesson's round, each of which begins a practice."""


@dataclass(frozen=True, slots=True)
class Menu:
    """The settings are open, at a page."""

    page: str
    touched: Seconds  # the last press
    changing: bool = False  # else next and previous turn pages
    teacher: bool = False  # the chord was held in this visit
    shut: bool = False  # locked: only says so
    notice: bool = False  # leaves sooner
    starts: str | None = None  # the practice that was chosen


@dataclass(frozen=True, slots=True)
class Rules:
    """What the menu needs to know and does not change."""

    from_file: Settings  # what "back to the file" brings back
    refuse: Refuse


def open_menu(settings: Settings, at: Seconds, page: str = FIRST, notice: bool = False) -> Menu:
    """The settings opened at a page; shut when the teacher's lock is on."""
    page = page if _page(page) in LESSON_PAGES or page in PRACTISE else FIRST
    return Menu(page, at, shut=settings.locked, notice=notice or settings.locked)


def is_left_alone(menu: Menu, at: Seconds) -> bool:
    """Whether nothing was pressed for so long that it leaves by itself."""
    return at - menu.touched >= (NOTICE_S if menu.notice else LEAVES_AFTER_S)


def act_in_menu(menu: Menu, press: Press, settings: Settings, rules: Rules) -> tuple[Menu | None, Settings]:
    """What a press does to the open menu and to the settings; no menu means home."""
    if isinstance(press, ChordHeld):
        return Menu(TEACHER_PAGES[0].key, press.at, teacher=True), settings
    held = isinstance(press, Held)
    if menu.shut or (held and press.button is Button.TONE):
        return None, settings
    menu = replace(menu, touched=press.at, notice=False)
    if press.button is Button.TONE and menu.page in PRACTISE:
        return replace(menu, starts=PRACTISE[menu.page]), settings
    if press.button is Button.TONE:
        return replace(menu, changing=not menu.changing), settings
    step = 1 if press.button is Button.NEXT else -1
    if menu.changing:
        return _changed(menu, step, held, settings, rules)
    return replace(menu, page=_turned(menu, step, settings)), settings


def menu_view(menu: Menu, settings: Settings, rules: Rules) -> MenuView:
    """The page in words, and what a press of previous, the third button and next will do."""
    pages = _keys(menu, settings)
    position, count = pages.index(menu.page) if menu.page in pages else 0, len(pages)
    if menu.shut:
        return MenuView("Locked", "hold both", position, count, ("home", "home", "home"), "locked")
    if menu.page in PRACTISE:
        hints = ("before", "start", "next")
        return MenuView("Practise", PRACTISE[menu.page], position, count, hints, menu.page)
    page = _page(menu.page)
    title = "Back to the file" if page is None else page.title
    value = _back_words(settings, rules) if page is None else page.words(page.value(settings))
    beside = (VERSION, DATE) if page is None else None
    if not menu.changing:
        return MenuView(title, value, position, count, ("before", "change", "next"), menu.page, beside=beside)
    hints = (_hint(menu, -1, settings, rules), "done", _hint(menu, 1, settings, rules))
    return MenuView(title, value, position, count, hints, menu.page, changing=True, beside=beside)


def _page(key: str) -> Page | None:
    return next((page for page in PAGES if page.key == key), None)


def _keys(menu: Menu, settings: Settings) -> tuple[str, ...]:
    """The pages of the round that is open, those that apply to what is set."""
    pages = TEACHER_PAGES if menu.teacher else LESSON_PAGES
    there = tuple(page.key for page in pages if page.applies(settings))
    return (*there, FROM_FILE) if menu.teacher else (*there, *PRACTISE)


def _turned(menu: Menu, step: int, settings: Settings) -> str:
    keys = _keys(menu, settings)
    return keys[(keys.index(menu.page) + step) % len(keys)] if menu.page in keys else keys[0]


def _changed(
    menu: Menu, step: int, leap: bool, settings: Settings, rules: Rules
) -> tuple[Menu | None, Settings]:
    page = _page(menu.page)
    if page is None:
        return replace(menu, changing=False), rules.from_file
    return menu, _reached(page, settings, rules, step, leap) or settings


def _reached(page: Page, settings: Settings, rules: Rules, step: int, leap: bool) -> Settings | None:
    """The settings with the nearest value in this direction that may be chosen; None without one."""
    for value in page.onward(page.value(settings), step, leap):
        change: dict[str, Any] = {page.key: value}
        changed = replace(settings, **change)
        if not rules.refuse(changed):
            return changed
    return None


def _hint(menu: Menu, step: int, settings: Settings, rules: Rules) -> str:
    """What a short press of next (+1) or previous (-1) does while a value is changed."""
    page = _page(menu.page)
    if page is None:
        return "do it"
    if _reached(page, settings, rules, step, leap=False) is not None:
        return ("more" if step > 0 else "less") if page.number else "other"
    return "limit" if page.onward(page.value(settings), step) else "end"


def _back_words(settings: Settings, rules: Rules) -> str:
    return "as it is" if settings == rules.from_file else "changed"
