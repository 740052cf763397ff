"""The median of Rec. ITU-R P.1812-6 for one path, plain numpy over its points: a frozen yardstick.

Never tuned: ``bench_path.py`` measures the library's vectorised form against a loop over this one.
"""

import numpy as np


def field_dbuv_m(freq_mhz, erp_kw, d, h, clutter, htg, hrg, delta_n, n0):
    f = freq_mhz / 1000
    g = h + clutter
    g[0], g[-1] = h[0], h[-1]
    dtot = d[-1]
    hts, hrs = h[0] + htg, h[-1] + hrg
    ae = 6371 * 157 / (157 - delta_n)
    lam = 0.2998 / f
    di, hi, gi = d[1:-1], h[1:-1], g[1:-1]
    lbulla = bullington(di, gi, dtot, hts, hrs, ae, lam)
    hstd, hsrd = smooth_ends(d, h, hts, hrs)
    lbulls = bullington(di, np.zeros_like(gi), dtot, hts - hstd, hrs - hsrd, ae, lam)
    ldsph = sphere(dtot, hts - hstd, hrs - hsrd, ae, f, lam)
    ld = lbulla + max(ldsph - lbulls, 0)
    lbfs = 92.4 + 20 * np.log10(f) + 20 * np.log10(np.sqrt(dtot**2 + ((hts - hrs) / 1000) ** 2))
    lbs = scatter(di, hi, dtot, hts, hrs, ae, f, n0)
    lb = -5 * np.log10(10 ** (-0.2 * lbs) + 10 ** (-0.2 * (lbfs + ld)))
    return 199.36 + 20 * np.log10(f) + 10 * np.log10(erp_kw) - max(lb, lbfs)


def knife(v):
    if v <= -0.78:
        return 0.0
    return 6.9 + 20 * np.log10(np.sqrt((v - 0.1) ** 2 + 1) + v - 0.1)


def bullington(di, gi, d, hts, hrs, ae, lam):
    ce = 1 / ae
    stim = np.max((gi + 500 * ce * di * (d - di) - hts) / di)
    st = (hrs - hts) / d
    if stim < st:
        line = (hts * (d - di) + hrs * di) / d
        over = gi + 500 * ce * di * (d - di) - line
        luc = knife(np.max(over * np.sqrt(0.002 * d / (lam * di * (d - di)))))
    else:
        srim = np.max((gi + 500 * ce * di * (d - di) - hrs) / (d - di))
        db = (hrs - hts + srim * d) / (stim + srim)
        over = hts + stim * db - (hts * (d - db) + hrs * db) / d
        luc = knife(over * np.sqrt(0.002 * d / (lam * db * (d - db))))
    return luc + (1 - np.exp(-luc / 6)) * (10 + 0.02 * d)


def smooth_ends(d, h, hts, hrs):
    step = d[1:] - d[:-1]
    v1 = np.sum(step * (h[1:] + h[:-1]))
    v2 = np.sum(step * (h[1:] * (2 * d[1:] + d[:-1]) + h[:-1] * (d[1:] + 2 * d[:-1])))
    dtot = d[-1]
    hst, hsr = (2 * v1 * dtot - v2) / dtot**2, (v2 - v1 * dtot) / dtot**2
    di = d[1:-1]
    over = h[1:-1] - (hts * (dtot - di) + hrs * di) / dtot
    hobs, obt, obr = np.max(over), np.max(over / di), np.max(over / (dtot - di))
    if hobs > 0:
        hst, hsr = hst - hobs * obt / (obt + obr), hsr - hobs * obr / (obt + obr)
    return min(hst, h[0]), min(hsr, h[-1])


def sphere(d, hte, hre, ae, f, lam):
    dlos = np.sqrt(2 * ae) * (np.sqrt(0.001 * hte) + np.sqrt(0.001 * hre))
    if d >= dlos:
        return first_term(d, hte, hre, ae, f)
    c = (hte - hre) / (hte + hre)
    m = 250 * d**2 / (ae * (hte + hre))
    cosine = np.arccos(3 * c / 2 * np.sqrt(3 * m / (m + 1) ** 3))
    b = 2 * np.sqrt((m + 1) / (3 * m)) * np.cos(np.pi / 3 + cosine / 3)
    d1 = d / 2 * (1 + b)
    d2 = d - d1
    hse = ((hte - 500 * d1**2 / ae) * d2 + (hre - 500 * d2**2 / ae) * d1) / d
    hreq = 17.456 * np.sqrt(d1 * d2 * lam / d)
    if hse > hreq:
        return 0.0
    aem = 500 * (d / (np.sqrt(hte) + np.sqrt(hre))) ** 2
    return (1 - hse / hreq) * max(first_term(d, hte, hre, aem, f), 0)


def first_term(d, hte, hre, a, f):
    er, sigma = 22, 0.003
    k = 0.036 * (a * f) ** (-1 / 3) * ((er - 1) ** 2 + (18 * sigma / f) ** 2) ** (-1 / 4)
    beta = (1 + 1.6 * k**2 + 0.67 * k**4) / (1 + 4.5 * k**2 + 1.53 * k**4)
    x = 21.88 * beta * (f / a**2) ** (1 / 3) * d
    y = 0.9575 * beta * (f**2 / a) ** (1 / 3)
    near, far = -20 * np.log10(x) - 5.6488 * x**1.425, 11 + 10 * np.log10(x) - 17.6 * x
    fx = far if x >= 1.6 else near
    return -fx - height_gain(beta * y * hte, k) - height_gain(beta * y * hre, k)


def height_gain(b, k):
    if b > 2:
        gain = 17.6 * np.sqrt(b - 1.1) - 5 * np.log10(b - 1.1) - 8
    else:
        gain = 20 * np.log10(b + 0.1 * b**3)
    return max(gain, 2 + 20 * np.log10(k))


def scatter(di, hi, d, hts, hrs, ae, f, n0):
    theta_t = np.max(1000 * np.arctan((hi - hts) / (1000 * di) - di / (2 * ae)))
    theta_td = 1000 * np.arctan((hrs - hts) / (1000 * d) - d / (2 * ae))
    if theta_t > theta_td:
        back = d - di
        theta_r = np.max(1000 * np.arctan((hi - hrs) / (1000 * back) - back / (2 * ae)))
    else:
        theta_t = theta_td
        theta_r = 1000 * np.arctan((hts - hrs) / (1000 * d) - d / (2 * ae))
    theta = 1000 * d / ae + theta_t + theta_r
    lf = 25 * np.log10(f) - 2.5 * np.log10(f / 2) ** 2
    return 190.1 + lf + 20 * np.log10(d) + 0.573 * theta - 0.15 * n0
