"""ICC profiles made here for the checks of colour.py, after ICC.1:2022, and what they mean in exact arithmetic."""

import struct

import numpy as np

D50 = np.array([0.9642, 1.0, 0.8249])
# Primaries' and white's chromaticities; the curve is sRGB's but where a case says otherwise.
SRGB = ((0.64, 0.33), (0.30, 0.60), (0.15, 0.06))
P3 = ((0.680, 0.320), (0.265, 0.690), (0.150, 0.060))


def fixed(*values):
    return b"".join(struct.pack(">i", round(v * 65536)) for v in values)


def profile(tags, connection=b"XYZ ", version=4):
    head = bytearray(128)
    head[8] = version
    head[12:24] = b"mntrRGB " + connection
    head[36:40] = b"acsp"
    head[68:80] = fixed(*D50)
    text = b"made for the check"
    tags = [("desc", b"mluc" + bytes(4) + struct.pack(">II", 1, 12) + b"enUS" + struct.pack(">II", 2 * len(text), 28)
             + text.decode().encode("utf-16-be")),
            ("wtpt", b"XYZ \0\0\0\0" + fixed(*D50))] + tags
    table, bodies = struct.pack(">I", len(tags)), b""
    start = 132 + 12 * len(tags)
    for name, body in tags:
        body += bytes(-len(body) % 4)
        table += name.encode() + struct.pack(">II", start + len(bodies), len(body))
        bodies += body
    head[0:4] = struct.pack(">I", 128 + len(table) + len(bodies))
    return bytes(head) + table + bodies


def curve(values):
    """curveType."""
    return b"curv\0\0\0\0" + struct.pack(f">I{len(values)}H", len(values), *values)


def parametric(kind, *values):
    """parametricCurveType."""
    return b"para\0\0\0\0" + struct.pack(">HH", kind, 0) + fixed(*values)


def srgb(v):
    return np.where(v <= 0.04045, v / 12.92, ((v + 0.055) / 1.055) ** 2.4)


def shaper(columns, trc):
    """Curves and matrix: colorants as columns, one curve for all."""
    tags = [(name, b"XYZ \0\0\0\0" + fixed(*columns[:, k])) for k, name in enumerate(("rXYZ", "gXYZ", "bXYZ"))]
    return profile(tags + [(name, trc) for name in ("rTRC", "gTRC", "bTRC")])


def rounded(columns):
    return np.round(np.asarray(columns) * 65536) / 65536


def cases(colorants):
    """(name, profile, what linear channels an encoded value means) of profiles of curves and matrix; `colorants(primaries)`
    gives the columns under D50."""
    table = np.round(srgb(np.arange(1024) / 1023) * 65535).astype(int)
    p = [2.4, 1 / 1.055, 0.055 / 1.055, 1 / 12.92, 0.04045]
    q = [round(v * 65536) / 65536 for v in p]
    line = np.interp

    def kind3(v):
        return np.where(v >= q[4], np.maximum(q[1] * v + q[2], 0) ** q[0], q[3] * v)

    two = (2.2, 0.9, 0.1, 0.05)
    two_q = [round(v * 65536) / 65536 for v in two]
    for name, trc, meaning in (
        ("no values", curve([]), lambda v: v),
        ("one value", curve([0x0233]), lambda v: v ** (0x0233 / 256)),
        ("1024 values", curve(list(table)), lambda v: line(v, np.arange(1024) / 1023, table / 65535)),
        ("parametric 0", parametric(0, 1.8), lambda v: v ** (round(1.8 * 65536) / 65536)),
        ("parametric 1", parametric(1, *two[:3]), lambda v: (two_q[1] * v + two_q[2]) ** two_q[0]),
        ("parametric 2", parametric(2, *two[:3], -0.005),
         lambda v: (two_q[1] * v + two_q[2]) ** two_q[0] + round(-0.005 * 65536) / 65536),
        ("parametric 3", parametric(3, *p), kind3),
        ("parametric 4", parametric(4, *p, 0.0, 0.0), kind3),
    ):
        for primaries, label in ((SRGB, "sRGB"), (P3, "P3")):
            columns = rounded(colorants(primaries))
            yield f"{label}, {name}", shaper(columns, trc), columns, meaning


def lab_of(xyz):
    t = xyz / D50
    f = np.where(t > 216 / 24389, np.cbrt(t), 841 / 108 * t + 16 / 116)
    return np.stack([116 * f[..., 1] - 16, 500 * (f[..., 0] - f[..., 1]), 200 * (f[..., 1] - f[..., 2])], -1)


def tables(colorants):
    """(name, profile) of profiles of tables alone: Display P3 on a grid of 17, in each of the three forms."""
    columns = colorants(P3)
    n = 17
    axis = np.arange(n) / (n - 1)
    grid = np.stack(np.meshgrid(axis, axis, axis, indexing="ij"), -1)
    # The input curve is a root, so that the grid lies densely in the darks.
    xyz = srgb(grid**1.5) @ columns.T
    lab = lab_of(xyz)
    unit = fixed(1, 0, 0, 0, 1, 0, 0, 0, 1)
    entries = np.arange(256) / 255
    root = entries ** (1 / 1.5)

    old = np.stack([lab[..., 0] * 652.8, (lab[..., 1] + 128) * 256, (lab[..., 2] + 128) * 256], -1)
    body = b"mft2\0\0\0\0" + bytes([3, 3, n, 0]) + unit + struct.pack(">HH", 256, 2)
    body += np.tile(np.round(root * 65535), 3).astype(">u2").tobytes() + np.round(old).astype(">u2").tobytes()
    yield "lut16 to Lab", profile([("A2B0", body + struct.pack(">6H", *[0, 65535] * 3))], b"Lab ", 2)

    new = np.stack([lab[..., 0] * 2.55, lab[..., 1] + 128, lab[..., 2] + 128], -1)
    body = b"mft1\0\0\0\0" + bytes([3, 3, n, 0]) + unit + np.tile(np.round(root * 255), 3).astype("u1").tobytes()
    body += np.round(new).astype("u1").tobytes() + np.tile(np.arange(256), 3).astype("u1").tobytes()
    yield "lut8 to Lab", profile([("A2B0", body)], b"Lab ", 2)

    identity = parametric(0, 1.0)
    a = parametric(0, 1 / 1.5)
    matrix = unit + fixed(0, 0, 0)
    for name, connection, values in (("lutAToB to Lab", b"Lab ", new / 255), ("lutAToB to XYZ", b"XYZ ", xyz * 32768 / 65535)):
        clut = bytes([n, n, n] + [0] * 13 + [2, 0, 0, 0]) + np.round(values * 65535).astype(">u2").tobytes()
        clut += bytes(-len(clut) % 4)
        parts = [identity * 3, matrix, identity * 3, clut, a * 3]
        offsets = np.cumsum([32] + [len(p) for p in parts[:-1]])
        body = b"mAB \0\0\0\0" + bytes([3, 3, 0, 0]) + struct.pack(">5I", *offsets) + b"".join(parts)
        yield name, profile([("A2B1", body)] + [("A2B0", body)], connection)
