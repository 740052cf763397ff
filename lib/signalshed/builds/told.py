"""A build in words: what it is for, weighs and withstands, and its lengths in both units."""

from .. import facts
from ..units import KM_PER_MILE, inches_text
from .build import check_build


def facts_words(build):
    """Band, wire, weight, wind, polarization and balun of a build, in a few sentences.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> facts_words(half_wave_dipole(539))[:41]
    'For 539 MHz. 0.25 m of wire and rod, abou'
    """
    check_build(build)
    return (
        f"For {band_words(build)}. {build.wire_m:.2f} m of wire and rod, about "
        f"{build.weight_kg:.2f} kg of metal without frame and clamps. {_wind_words(build)} "
        f"Polarization as fed: {build.polarization}. Balun: {build.balun}."
    )


def band_words(build):
    """The band a build is meant for.

    Parameters: ``build``.

    >>> from . import half_wave_dipole
    >>> band_words(half_wave_dipole((470, 608)))
    '470 to 608 MHz'
    """
    low, high = build.band_mhz
    return f"{low:.0f} MHz" if low == high else f"{low:.0f} to {high:.0f} MHz"


def _wind_words(build):
    """The push of a storm, and how much of it the screen takes."""
    speed, (element, screen) = facts.value("builds", "wind_speed_m_s"), build.wind_parts_n()
    mph = 10 * round(speed * 0.36 / KM_PER_MILE)
    storm = f"A storm of {speed:.0f} m/s (about {mph} mph) pushes it with about"
    if not screen:
        return f"{storm} {element:.0f} N."
    return f"{storm} {element + screen:.0f} N, {screen:.0f} N of that on the screen; ice adds."


def screen_words(build):
    """What the screen is cut to and how far off it stands, as a tuple of one sentence or none.

    Parameters: ``build``.

    >>> from . import loop, mesh_screen
    >>> screen_words(loop(539, screen=mesh_screen(400, 300, behind_mm=80)))[0][:46]
    'Screen: mesh screen, width 400 mm (15 3/4 in),'
    """
    check_build(build)
    if build.screen is None or build.ideal:
        return ()
    sizes = [
        f"{key.removesuffix('_mm').replace('_', ' ')} {_size(key, value)}"
        for key, value in build.screen.sizes.items()
        if key.endswith("_mm")
    ]
    kind, behind = build.screen.kind.replace("_", " "), both_units(build.screen.behind_mm)
    return (f"Screen: {kind}, {', '.join(sizes)}; {behind} from the element.",)


def _size(key, value):
    """A size of a screen; openings and wires of a mesh are named by their millimetres alone."""
    return (
        f"{value:g} mm" if key in ("opening_mm", "wire_mm", "thickness_mm") else both_units(value)
    )


def both_units(length_mm):
    """A length, ``length_mm``, in whole millimetres and in inches to the sixteenth.

    >>> both_units(260)
    '260 mm (10 1/4 in)'
    """
    return f"{length_mm:.0f} mm ({inches_text(length_mm)})"
