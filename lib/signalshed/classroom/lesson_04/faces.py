"""A face behind a mesh: the light that comes through its holes, and the wave that does not."""

import numpy as np

from ... import builds, channels
from ...plots import style
from ...units import LIGHT_M_MHZ
from .. import Choice, Guess, Panel, Slider, Words
from ..canvas import Moving, blank, upright
from .screens import CHANNEL, meshes

_HALF_MM = 100.0


def through_pct(label, freq_mhz):
    """Light and power of a wave that come through a mesh met square on: two numbers, per cent.

    Parameters: ``label`` of the mesh in the table of facts; ``freq_mhz`` of the wave. Light is counted
    by the holes: what the wires leave open.

    >>> [round(share, 1) for share in through_pct("1/2 in hardware cloth", 539.0)]
    [84.9, 0.4]
    """
    pitch_mm, wire_mm = meshes()[label]
    leak_db = builds.mesh_leak_db(freq_mhz, pitch_mm, wire_mm)
    return 100 * (1 - wire_mm / pitch_mm) ** 2, float(100 * 10 ** (leak_db / 10))


def face_panel():
    """A mesh before a face, and a channel: a guess, then how much of the wave comes through.

    >>> face_panel().verdict.endswith("wave's power?")
    True
    """
    controls = (
        Choice("mesh", "Mesh", tuple(meshes()), "1/2 in hardware cloth"),
        Slider("channel", "RF channel", *CHANNEL),
        Guess(
            "wave_pct", "Your guess, %", 0, 100, 50,
            question="You see a face through this mesh: how many per cent come through of a TV "
            "wave's power?",
        ),
    )  # fmt: skip
    return Panel("A face behind mesh", controls, _Face.of(), (8.8, 4.0))


class _Face(Moving):
    """Left two bars, light and wave; right a face, and the mesh before it, 200 mm of it."""

    def draw(self, figure):
        left, right = figure.subplots(1, 2, width_ratios=(5, 4))
        left.set(xlim=(0, 100), ylim=(-0.6, 1.6), xlabel="comes through, %")
        left.set_yticks([1, 0], ["light", "wave"])
        bar = {"lw": 14, "solid_capstyle": "butt"}
        self.light = self.line(left, color=style.MEANING["other"], **bar)
        self.wave = self.line(left, color=style.MEANING["air"], **bar)
        self.guess = self.guess_line(left)
        self.told = self.text(left, 2, -0.32, va="center")
        _draw_face(right)
        self.mesh = self.keep(right.vlines([], 0, 0, color=style.GREY, lw=1.2))

    def move(self, mesh, channel, guess, placed):
        freq_mhz = channels.centre_mhz(int(channel))
        light, wave = through_pct(mesh, freq_mhz)
        self._lay(meshes()[mesh][0])
        self.light.set_data([0, light], [1, 1])
        upright(self.guess, guess, -0.5, 0.5)
        seen = f"A face behind {mesh}; {light:.0f} % of its light comes through the holes"
        if not placed:
            blank(self.wave)
            self.told.set_text(f"RF {int(channel)}: ?")
            return Words("", f"{seen}. What a wave does is still to come.")
        self.wave.set_data([0, wave], [0, 0])
        self.told.set_text(f"RF {int(channel)}: {wave:.1f} %")
        told = "" if guess is None else f"you said {guess:g} %, "
        times = 1000 * LIGHT_M_MHZ / freq_mhz / meshes()[mesh][0]
        verdict = (
            f"RF {int(channel)} through {mesh}: {told}{wave:.1f} % of its power comes through, and "
            f"{light:.0f} % of the light. The wave is {times:.0f} times as long as from wire to wire; "
            "light is far finer than the holes. What does not come through is thrown back."
        )
        return Words(verdict, f"{seen}. {verdict}", wave)

    def _lay(self, pitch_mm):
        at = np.arange(-_HALF_MM, _HALF_MM + 0.1, pitch_mm)
        ends = (-_HALF_MM, _HALF_MM)
        across = [[(ends[0], y), (ends[1], y)] for y in at]
        self.mesh.set_segments([[(x, ends[0]), (x, ends[1])] for x in at] + across)


def _draw_face(ax):
    half = _HALF_MM
    ax.set(xlim=(-half, half), ylim=(-half, half), aspect="equal", xticks=[], yticks=[])
    ax.grid(False)
    ax.set_title("a face, 200 mm", fontsize=11)
    turn, smile = np.linspace(0, 2 * np.pi, 60), np.linspace(-2.4, -0.74, 20)
    ax.plot(62 * np.cos(turn), 80 * np.sin(turn), color=style.BLACK, lw=3)
    ax.plot([-24, 24], [22, 22], "o", color=style.BLACK, ms=7)
    ax.plot([0, -8, 4], [12, -12, -12], color=style.BLACK, lw=2)
    ax.plot(34 * np.cos(smile), -16 + 34 * np.sin(smile), color=style.BLACK, lw=3)
