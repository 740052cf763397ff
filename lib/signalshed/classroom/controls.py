"""The controls of a panel: their limits in one place, what may be typed, and the widgets they become.

A panel's tuple of controls is the one table of its limits and defaults: the sliders, the tests and the
numbers in a lesson's prose all take them from there.
"""

import math
from dataclasses import dataclass

import ipywidgets


@dataclass(frozen=True)
class Slider:
    """A quantity: a slider and a number box that may be typed into.

    ``name`` as the drawing takes it, with unit (``heading_deg``); ``label`` in words with unit, at
    most 40 characters; ``low``, ``high``, ``default`` in that unit; ``step`` of the slider in that
    unit, or in decades where ``log`` makes the slider logarithmic. Typed values need not lie on a
    step. If low, high, default and step are whole numbers, so are values that are whole.

    >>> Slider("heading_deg", "Heading, degrees true", 0, 355, 210, step=5).checked(100.0)
    100
    >>> Slider("heading_deg", "Heading, degrees true", 0, 355, 210, step=5).checked(725)
    Traceback (most recent call last):
    ValueError: Heading, degrees true: 725 is not between 0 and 355.
    """

    name: str
    label: str
    low: float
    high: float
    default: float
    step: float = 1
    log: bool = False

    def __post_init__(self):
        if not self.low < self.high or not self.step > 0 or (self.log and self.low <= 0):
            raise ValueError(
                f"Slider {self.name!r} runs from {self.low!r} to {self.high!r} by {self.step!r}; low "
                "must lie below high, step above 0, and a logarithmic slider above 0."
            )
        self.checked(self.default)

    def checked(self, value):
        """``value`` as a tidy number, or a ValueError in the words of the label."""
        try:
            number = float(value)
        except (TypeError, ValueError):
            number = math.nan
        if not math.isfinite(number):
            raise ValueError(f"{self.label}: {value!r} is not a number.")
        if not self.low <= number <= self.high:
            raise ValueError(
                f"{self.label}: {number:.10g} is not between {self.low:g} and {self.high:g}."
            )
        whole = all(float(n).is_integer() for n in (self.low, self.high, self.default, self.step))
        number = float(f"{number:.10g}")
        return int(number) if whole and not self.log and number.is_integer() else number

    def on_slider(self, value):
        """A slider's own ``value`` without the noise of its arithmetic, inside the limits."""
        tidy = float(f"{value:.3g}") if self.log else float(f"{value:.10g}")
        return min(max(tidy, self.low), self.high)

    def ends(self):
        """Every end that a test has to visit."""
        return self.low, self.high

    def widgets(self):
        """The number box and the slider, in this order."""
        step = None if self.log else self.step
        box = ipywidgets.FloatText(value=self.default, step=step, description=self.label)
        return box, self.rail(self.default)

    def rail(self, value):
        """The slider alone, at ``value``."""
        if not self.log:
            return ipywidgets.FloatSlider(
                value=value, min=self.low, max=self.high, step=self.step, readout=False
            )
        low, high = math.log10(self.low), math.log10(self.high)
        return ipywidgets.FloatLogSlider(
            value=value, min=low, max=high, step=self.step, readout=False
        )


@dataclass(frozen=True)
class Choice:
    """One of several names: ``name`` as the drawing takes it, ``label`` in words, ``options`` the
    names (text, at least one, none twice), ``default`` one of them (None: the first).

    >>> Choice("mount", "Mount", ["mast", "attic"]).checked("roof")
    Traceback (most recent call last):
    ValueError: Mount: 'roof' is not one of mast, attic.
    """

    name: str
    label: str
    options: tuple
    default: str = None

    def __post_init__(self):
        options = tuple(str(option) for option in self.options)
        if not options or len(set(options)) < len(options):
            raise ValueError(
                f"{self.label}: there must be something to choose from, and no name twice; "
                f"there is {', '.join(options) or 'nothing'}."
            )
        object.__setattr__(self, "options", options)
        object.__setattr__(self, "default", options[0] if self.default is None else self.default)
        self.checked(self.default)

    def checked(self, value):
        """``value`` if it is one of the options, or a ValueError that lists them."""
        if value not in self.options:
            raise ValueError(f"{self.label}: {value!r} is not one of {', '.join(self.options)}.")
        return value

    def on_slider(self, value):
        """A list's own ``value`` as it is."""
        return value

    def ends(self):
        """Every end that a test has to visit."""
        return self.options

    def widgets(self):
        """The list, which carries its label."""
        given = {"options": self.options, "value": self.default, "description": self.label}
        return (ipywidgets.Dropdown(**given),)


@dataclass(frozen=True)
class Switch:
    """Yes or no: ``name`` as the drawing takes it, ``label`` in words, ``default`` True or False.

    >>> Switch("amplifier", "Amplifier at the mast").checked(True)
    True
    """

    name: str
    label: str
    default: bool = False

    def checked(self, value):
        """``value`` if it is True or False, or a ValueError."""
        if not isinstance(value, bool):
            raise ValueError(f"{self.label}: {value!r} is neither True nor False.")
        return value

    def on_slider(self, value):
        """A tick box's own ``value`` as it is."""
        return value

    def ends(self):
        """Every end that a test has to visit."""
        return False, True

    def widgets(self):
        """The tick box, which carries its label."""
        return (ipywidgets.Checkbox(value=self.default, description=self.label, indent=False),)


@dataclass(frozen=True)
class Guess(Slider):
    """A number or a heading to guess before the panel shows it; at most one in a panel.

    Parameters as of Slider: ``name``, ``label``, ``low``, ``high``, ``default``, ``step``, ``log``;
    and ``question`` in words, which stands in the verdict's place until the guess is placed. ``move``
    is given ``guess``, the number or None, and ``placed``, whether it was placed or the answer asked
    for. ``default`` is where the rail's handle waits; nothing counts as guessed before the handle is
    moved or a number typed. The rail lies under the picture, along the first axes' own axis where
    that holds all of low to high.

    >>> Guess("best_deg", "Your guess, degrees true", 0, 355, 180, 5, question="Where to?").question
    'Where to?'
    """

    question: str = ""

    def given(self, typed):
        """What was ``typed`` as a guess, or a ValueError that says what to type."""
        try:
            return self.checked(str(typed).strip().rstrip("°").replace(",", "."))
        except ValueError as refused:
            told = str(refused)
            if not str(typed or "").strip():
                told = f"{self.label}: first type a number or move the slider."
            raise ValueError(told) from None

    def place(self, value):
        """The box for a guess that stands at ``value``, None for none yet."""
        said = "" if value is None else f"{value:g}"
        return ipywidgets.Text(value=said, description=self.label, placeholder="?")

    def shown(self, value):
        """A guess ``value`` as the box says it."""
        return f"{value:g}"

    def said(self, value):
        """A guess ``value`` with its unit, which the label names after a comma."""
        return f"{value:g} {self.label.partition(', ')[2]}".rstrip()


@dataclass(frozen=True)
class GuessChoice(Choice):
    """One of several answers to guess before the panel shows which.

    Parameters as of Choice: ``name``, ``label``, ``options``, ``default``; and the ``question``.
    ``move`` is given ``guess``, the option or None, and ``placed``, as for Guess.

    >>> GuessChoice("who", "Your guess", ("mast", "attic"), question="Which brings more?").question
    'Which brings more?'
    """

    question: str = ""

    def more(self, first, second, alike=0.05):
        """The right one of three options: the first is more, the second is, both are ``alike``.

        >>> GuessChoice("who", "Your guess", ("mast", "attic", "both")).more(8.4, 5.9)
        'mast'
        """
        return self.options[2 if abs(first - second) < alike else int(second > first)]

    def given(self, typed):
        """The option ``typed`` as a guess, or a ValueError that says to choose."""
        if typed is None:
            raise ValueError(f"{self.label}: first choose one.")
        return self.checked(typed)

    def place(self, value):
        """The list for a guess that stands at ``value``, None for none yet."""
        return ipywidgets.Dropdown(options=self.options, value=value, description=self.label)

    def shown(self, value):
        """A guess ``value`` as the list says it."""
        return value

    said = shown
