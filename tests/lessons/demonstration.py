"""A panel with every kind of control and every kind of trouble, for the tests of the panel itself."""

import time

import numpy as np

from signalshed.classroom import Choice, Guess, GuessChoice, Panel, Slider, Switch, Words
from signalshed.plots import style

CONTROLS = (
    Slider("heading_deg", "Heading, degrees true", 0, 355, 210, step=5),
    Slider("erp_kw", "Power, kilowatts ERP", 0.001, 1000, 1, step=0.05, log=True),
    Slider("loss_db", "Cable loss, dB", 0, 12, 2.5, step=0.1),
    Choice("antenna", "Antenna", ("loop", "yagi <b>&", "slow", "refused", "broken")),
    Switch("bars", "Show the spread", True),
)


def draw(figure):
    """A lobe that turns with the heading, a bar, and a label."""
    azimuth = np.arange(0, 361)
    axes = figure.add_subplot(xlim=(0, 360), ylim=(-40, 40))
    axes.set(xlabel="bearing, degrees true", ylabel="gain and power, dB")
    (lobe,) = axes.plot([], [], color=style.MEANING["antenna"])
    (bar,) = axes.plot([], [], color=style.MEANING["forecast"])
    label = axes.text(0, 35, "", color=style.MEANING["aim"])

    def move(heading_deg, erp_kw, loss_db, antenna, bars):
        if antenna == "refused":
            raise ValueError("antenna is 'refused'; <i>this roof</i> does not take it.")
        if antenna == "broken":
            raise KeyError(antenna)
        if antenna == "slow":
            time.sleep(0.4)
        power_db = 10 * np.log10(erp_kw) - loss_db
        lobe.set_data(azimuth, power_db + 5 * np.cos(np.radians(azimuth - heading_deg)))
        bar.set_data([heading_deg] * 2 if bars else [], [power_db, power_db + 10] if bars else [])
        label.set_text(f"{heading_deg}°")
        label.set_x(heading_deg)
        told = f"{antenna} at {heading_deg:g}° with {erp_kw:g} kW and {loss_db:g} dB of cable"
        return Words(f"{told}: {power_db:.1f} dB.", f"A lobe. {told}.")

    return (lobe, bar, label), move


def panel():
    """The demonstration panel, fresh."""
    return Panel("Turn & <look>", CONTROLS, draw, size_in=(8, 4))


def asking(kind=Guess):
    """A panel that asks for the best heading, 137 degrees, before it shows it."""
    control = (
        Guess("best", "Your guess, degrees true", 0, 355, 180, 5, question="Where to?")
        if kind is Guess
        else GuessChoice("who", "Your guess", ("one", "two"), question="Which?")
    )

    def draw(figure):
        figure.set_layout_engine("none")
        axes = figure.add_axes((0.1, 0.1, 0.8, 0.8), xlim=(0, 360), ylim=(0, 1))
        (best,) = axes.plot([], [])
        (mark,) = axes.plot([], [], "o")

        def move(offset, guess, placed):
            best.set_data([137, 137] if placed else [], [0, 1] if placed else [])
            marked = kind is Guess and guess is not None
            mark.set_data([guess] if marked else [], [0.5] if marked else [])
            said = f"It is 137. You said {guess}." if placed else "nothing yet"
            return Words(said, f"A line where it is best, if it is shown: {said}")

        return [best, mark], move

    return Panel("Guess it", [Slider("offset", "Offset, dB", 0, 9, 1), control], draw)
