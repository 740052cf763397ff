"""Decibels and chances in single precision, for sums over many roofs: there speed counts."""

import numpy as np

PER_LOG = np.float32(10 / np.log(10))


def single(array):
    """An ``array`` in single precision."""
    return np.asarray(array, np.float32)


def mw(level_dbm):
    """Milliwatts, or a ratio, from dB."""
    return np.exp(level_dbm * np.float32(np.log(10) / 10))


def db(power):
    """dB of milliwatts or of a ratio; of nothing at all -370."""
    return PER_LOG * np.log(np.maximum(power, np.float32(1e-37)))


def normal(x):
    """The normal distribution function to 3e-4: a logistic form."""
    x = np.clip(x, -9.0, 9.0)
    return 1 / (1 + np.exp(-x * (1.5957691 + 0.07135481 * x * x)))
