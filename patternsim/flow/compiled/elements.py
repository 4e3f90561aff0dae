"""Sums over elements, compiled: equations, energy, change of volume, strain and stress.

Per element 15 unknowns: u and v of its six nodes by turns, then the pressures of its three corners. D
is the
rate of stretching with the axial rate e as its third diagonal term; d = sqrt(2/3 D:D); flow stress K
d^m;
stress K d^(m-1) 2/3 D - p (Norton and Hoff; Hoff 1954).
"""

# The compiler infers the types:
# mypy: allow-untyped-defs, allow-untyped-calls, allow-untyped-decorators
# ruff: noqa: ANN001, ANN201

from __future__ import annotations

import numpy as np

from patternsim.fields.compiler import njit

FAST = {"contract", "reassoc"}
SOFT = 1e-7
"""Compressibility over the fluidity that keeps the pressure block definite; area errs as much."""
STEEPEST = 0.3
"""Largest volume source over the size of the velocity gradient: beyond, it is a bad guess."""


@njit(cache=True, nogil=True, fastmath=FAST)
def geometry(nodes, triangles, along_r, along_s, weights, slopes, areas):
    """Fill slopes (m, q, 2, 6) and areas (m, q); return the least Jacobian."""
    least = 1e300
    for e in range(triangles.shape[0]):
        for q in range(weights.shape[0]):
            a, b, c, d = 0.0, 0.0, 0.0, 0.0
            for i in range(6):
                x = nodes[triangles[e, i], 0]
                y = nodes[triangles[e, i], 1]
                a += along_r[q, i] * x
                b += along_r[q, i] * y
                c += along_s[q, i] * x
                d += along_s[q, i] * y
            jacobian = a * d - b * c
            least = min(least, jacobian)
            over = 1.0 / jacobian
            for i in range(6):
                slopes[e, q, 0, i] = (d * along_r[q, i] - b * along_s[q, i]) * over
                slopes[e, q, 1, i] = (a * along_s[q, i] - c * along_r[q, i]) * over
            areas[e, q] = weights[q] * jacobian
    return least


@njit(cache=True, nogil=True, fastmath=FAST)
def assemble(
    triangles, slopes, areas, linear, velocity, pressure, stretch, source, strength, exponent, least,
    newton, places, fixed, values, residual, column,
):  # fmt: skip
    """Add all elements into values (pattern order), residual (n,) and the column of the axial rate.

    Returns (axial residual, axial stiffness).
    """
    nodes = velocity.shape[0]
    xx, xy, yy = np.empty((6, 6)), np.empty((6, 6)), np.empty((6, 6))
    px, py, pp = np.empty((3, 6)), np.empty((3, 6)), np.empty((3, 3))
    ux, uy, pe = np.empty(6), np.empty(6), np.empty(3)
    bx, by = np.empty(6), np.empty(6)
    force, axial = np.empty(15), np.empty(15)
    whole = np.empty((15, 15))
    unknown = np.empty(15, np.int64)
    axial_residual, axial_stiffness = 0.0, 0.0
    for e in range(triangles.shape[0]):
        xx[:] = 0.0
        xy[:] = 0.0
        yy[:] = 0.0
        px[:] = 0.0
        py[:] = 0.0
        pp[:] = 0.0
        force[:] = 0.0
        axial[:] = 0.0
        for i in range(6):
            n = triangles[e, i]
            ux[i] = velocity[n, 0]
            uy[i] = velocity[n, 1]
            unknown[2 * i] = 2 * n
            unknown[2 * i + 1] = 2 * n + 1
        for k in range(3):
            pe[k] = pressure[triangles[e, k]]
            unknown[12 + k] = 2 * nodes + triangles[e, k]
        for q in range(areas.shape[1]):
            gx, gy = slopes[e, q, 0], slopes[e, q, 1]
            dxx, dyy, dxy = 0.0, 0.0, 0.0
            for i in range(6):
                dxx += gx[i] * ux[i]
                dyy += gy[i] * uy[i]
                dxy += gy[i] * ux[i] + gx[i] * uy[i]
            here = linear[q, 0] * pe[0] + linear[q, 1] * pe[1] + linear[q, 2] * pe[2]
            w = areas[e, q]
            square = (2.0 / 3.0) * (dxx * dxx + dyy * dyy + 0.5 * dxy * dxy + stretch * stretch)
            square += least * least
            mu = (2.0 / 3.0) * strength[e] * square ** (0.5 * (exponent - 1.0))
            bend = 0.0
            if newton:
                bend = mu * (exponent - 1.0) * (2.0 / 3.0) / square
            axial_stiffness += w * (mu + bend * stretch * stretch)
            axial_residual += w * (mu * stretch - here)
            wmu, wbend = w * mu, w * bend
            for i in range(6):
                bx[i] = dxx * gx[i] + 0.5 * dxy * gy[i]
                by[i] = dyy * gy[i] + 0.5 * dxy * gx[i]
            for i in range(6):
                force[2 * i] += wmu * bx[i] - w * here * gx[i]
                force[2 * i + 1] += wmu * by[i] - w * here * gy[i]
                axial[2 * i] += wbend * stretch * bx[i]
                axial[2 * i + 1] += wbend * stretch * by[i]
                sx, sy, hx, hy = wmu * gx[i], wmu * gy[i], wbend * bx[i], wbend * by[i]
                for j in range(6):
                    xx[i, j] += sx * gx[j] + 0.5 * sy * gy[j] + hx * bx[j]
                    xy[i, j] += 0.5 * sy * gx[j] + hx * by[j]
                    yy[i, j] += sy * gy[j] + 0.5 * sx * gx[j] + hy * by[j]
            grown = w * (dxx + dyy + stretch - source[e, q])
            give = w * SOFT / mu
            for k in range(3):
                share = linear[q, k]
                force[12 + k] -= grown * share
                axial[12 + k] -= w * share
                for j in range(6):
                    px[k, j] -= w * share * gx[j]
                    py[k, j] -= w * share * gy[j]
                for j in range(3):
                    pp[k, j] -= give * share * linear[q, j]
        for i in range(6):
            for j in range(6):
                whole[2 * i, 2 * j] = xx[i, j]
                whole[2 * i, 2 * j + 1] = xy[i, j]
                whole[2 * j + 1, 2 * i] = xy[i, j]
                whole[2 * i + 1, 2 * j + 1] = yy[i, j]
            for k in range(3):
                whole[2 * i, 12 + k] = px[k, i]
                whole[12 + k, 2 * i] = px[k, i]
                whole[2 * i + 1, 12 + k] = py[k, i]
                whole[12 + k, 2 * i + 1] = py[k, i]
        for k in range(3):
            for j in range(3):
                whole[12 + k, 12 + j] = pp[k, j]
        for i in range(15):
            if fixed[unknown[i]]:
                continue
            residual[unknown[i]] += force[i]
            column[unknown[i]] += axial[i]
            for j in range(15):
                if not fixed[unknown[j]]:
                    values[places[e, i, j]] += whole[i, j]
    return axial_residual, axial_stiffness


@njit(cache=True, nogil=True, fastmath=FAST)
def energy(triangles, slopes, areas, velocity, stretch, strength, exponent, least):
    """Return the power potential: the sum of K / (m + 1) d^(m + 1)."""
    total = 0.0
    for e in range(triangles.shape[0]):
        for q in range(areas.shape[1]):
            dxx, dyy, dxy = 0.0, 0.0, 0.0
            for i in range(6):
                n = triangles[e, i]
                dxx += slopes[e, q, 0, i] * velocity[n, 0]
                dyy += slopes[e, q, 1, i] * velocity[n, 1]
                dxy += slopes[e, q, 1, i] * velocity[n, 0] + slopes[e, q, 0, i] * velocity[n, 1]
            square = (2.0 / 3.0) * (dxx * dxx + dyy * dyy + 0.5 * dxy * dxy + stretch * stretch)
            square += least * least
            total += areas[e, q] * strength[e] / (exponent + 1.0) * square ** (0.5 * (exponent + 1.0))
    return total


@njit(cache=True, nogil=True)
def volume_source(triangles, slopes, velocity, stretch, step, source):
    """Fill source (m, q): the divergence with which a straight step keeps volume exactly.

    det(1 + step G) (1 + e step) = 1 for the gradient G of the velocity and the axial rate e.
    """
    for e in range(triangles.shape[0]):
        for q in range(source.shape[1]):
            a, b, c, d = 0.0, 0.0, 0.0, 0.0
            for i in range(6):
                n = triangles[e, i]
                a += slopes[e, q, 0, i] * velocity[n, 0]
                b += slopes[e, q, 1, i] * velocity[n, 0]
                c += slopes[e, q, 0, i] * velocity[n, 1]
                d += slopes[e, q, 1, i] * velocity[n, 1]
            det = a * d - b * c
            wanted = -step * (det + stretch * (a + d)) - step * step * stretch * det
            most = STEEPEST * np.sqrt(a * a + b * b + c * c + d * d + 1e-30)
            source[e, q] = min(max(wanted, -most), most)


@njit(cache=True, nogil=True)
def steepest(triangles, slopes, velocity):
    """Return the largest size of the mean velocity gradient of an element."""
    most = 0.0
    for e in range(triangles.shape[0]):
        a, b, c, d = 0.0, 0.0, 0.0, 0.0
        for q in range(slopes.shape[1]):
            for i in range(6):
                n = triangles[e, i]
                a += slopes[e, q, 0, i] * velocity[n, 0]
                b += slopes[e, q, 1, i] * velocity[n, 0]
                c += slopes[e, q, 0, i] * velocity[n, 1]
                d += slopes[e, q, 1, i] * velocity[n, 1]
        most = max(most, a * a + b * b + c * c + d * d)
    return np.sqrt(most) / slopes.shape[1]


@njit(cache=True, nogil=True)
def stress(
    triangles, slopes, areas, linear, velocity, pressure, stretch, strength, exponent, least, out
):
    """Fill out (m, 6) with the means over each element: sxx, syy, sxy, szz, flow stress, d."""
    for e in range(triangles.shape[0]):
        out[e] = 0.0
        whole = 0.0
        for q in range(areas.shape[1]):
            dxx, dyy, dxy = 0.0, 0.0, 0.0
            for i in range(6):
                n = triangles[e, i]
                dxx += slopes[e, q, 0, i] * velocity[n, 0]
                dyy += slopes[e, q, 1, i] * velocity[n, 1]
                dxy += slopes[e, q, 1, i] * velocity[n, 0] + slopes[e, q, 0, i] * velocity[n, 1]
            here = 0.0
            for k in range(3):
                here += linear[q, k] * pressure[triangles[e, k]]
            square = (2.0 / 3.0) * (dxx * dxx + dyy * dyy + 0.5 * dxy * dxy + stretch * stretch)
            square += least * least
            rate = np.sqrt(square)
            flow = strength[e] * rate**exponent
            mu = (2.0 / 3.0) * flow / rate
            w = areas[e, q]
            whole += w
            out[e, 0] += w * (mu * dxx - here)
            out[e, 1] += w * (mu * dyy - here)
            out[e, 2] += w * mu * 0.5 * dxy
            out[e, 3] += w * (mu * stretch - here)
            out[e, 4] += w * flow
            out[e, 5] += w * rate
        for k in range(6):
            out[e, k] /= whole
