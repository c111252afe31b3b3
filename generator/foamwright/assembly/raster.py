"""Triangles on a grid of sample points, with how far along the line of sight each is met. Compiled, and nothing
else."""

from __future__ import annotations

import numpy as np

from foamwright.compiled import compiled

_FLAT = 1e-9  # a triangle seen edge on has no area on the grid


@compiled(inline="always")
def _turned(points, corners, basis, flat):  # pragma: no cover - compiled
    """The three corners of a triangle in the frame `basis`, written into `flat` (3, 3)."""
    for k in range(3):
        corner = corners[k]
        x, y, z = points[corner, 0], points[corner, 1], points[corner, 2]
        for axis in range(3):
            flat[k, axis] = basis[axis, 0] * x + basis[axis, 1] * y + basis[axis, 2] * z


@compiled()
def reach(points, triangles, basis, low, step, near, far):  # pragma: no cover - compiled
    """Nearest and farthest hit of a mesh at every sample, written into `near` and `far` (rows, columns).

    `basis` (3, 3) holds across, up and along as rows; `low` (2,) is the first sample and `step` (2,) their distances.
    """
    rows, columns = near.shape
    flat = np.empty((3, 3))
    for t in range(len(triangles)):
        _turned(points, triangles[t], basis, flat)
        u0, v0 = flat[0, 0], flat[0, 1]
        a1, b1 = flat[1, 0] - u0, flat[1, 1] - v0
        a2, b2 = flat[2, 0] - u0, flat[2, 1] - v0
        area = a1 * b2 - a2 * b1
        if abs(area) < _FLAT:
            continue
        j0 = max(int(np.ceil((min(flat[0, 0], flat[1, 0], flat[2, 0]) - low[0]) / step[0])), 0)
        j1 = min(int(np.floor((max(flat[0, 0], flat[1, 0], flat[2, 0]) - low[0]) / step[0])), columns - 1)
        i0 = max(int(np.ceil((min(flat[0, 1], flat[1, 1], flat[2, 1]) - low[1]) / step[1])), 0)
        i1 = min(int(np.floor((max(flat[0, 1], flat[1, 1], flat[2, 1]) - low[1]) / step[1])), rows - 1)
        s1, s2, r1, r2 = b2 / area, -a2 / area, -b1 / area, a1 / area  # how the coordinates grow across and up
        for i in range(i0, i1 + 1):
            y = low[1] + i * step[1] - v0
            for j in range(j0, j1 + 1):
                x = low[0] + j * step[0] - u0
                s, r = s1 * x + s2 * y, r1 * x + r2 * y
                if s < -1e-9 or r < -1e-9 or s + r > 1.0 + 1e-9:
                    continue
                depth = flat[0, 2] + s * (flat[1, 2] - flat[0, 2]) + r * (flat[2, 2] - flat[0, 2])
                near[i, j] = min(near[i, j], depth)
                far[i, j] = max(far[i, j], depth)


@compiled()
def met(points, triangles, spans, spheres, skip, basis, low, step, near, far, slack, travel, wide, least):
    # pragma: no cover - compiled
    """For each body, whether a mover meets it: True where a block of `wide` (rows, columns) samples is hit,
    or `least` samples anywhere.

    `near` and `far` are the mover's reach. `spans` (bodies, 2) gives the triangles of each body, `spheres` (bodies, 4)
    a ball around it. A sample is hit where a body lies more than `slack` beyond the mover's nearest point and no
    farther than `travel` beyond its farthest.
    """
    rows, columns = near.shape
    count = len(spans)
    is_met = np.zeros(count, np.bool_)
    stamp = np.full((rows, columns), -1, np.int64)
    turned = np.empty((len(points), 3))
    high0, high1 = low[0] + (columns - 1) * step[0], low[1] + (rows - 1) * step[1]
    start = np.inf
    end = -np.inf
    for i in range(rows):
        for j in range(columns):
            if near[i, j] < np.inf:
                start = min(start, near[i, j])
                end = max(end, far[i, j])
    for body in range(count):
        if skip[body]:
            continue
        radius = spheres[body, 3]
        u = np.dot(basis[0], spheres[body, :3])
        v = np.dot(basis[1], spheres[body, :3])
        w = np.dot(basis[2], spheres[body, :3])
        if u + radius < low[0] or u - radius > high0 or v + radius < low[1] or v - radius > high1:
            continue
        if w + radius < start + slack or w - radius > end + travel:
            continue
        # the points of a body lie one after another: each is turned once, not once for each of its triangles
        first, last = len(points), -1
        for t in range(spans[body, 0], spans[body, 1]):
            for k in range(3):
                first, last = min(first, triangles[t, k]), max(last, triangles[t, k])
        u0, v0, w0 = np.inf, np.inf, np.inf
        u1, v1, w1 = -np.inf, -np.inf, -np.inf
        for p in range(first, last + 1):
            x, y, z = points[p, 0], points[p, 1], points[p, 2]
            u = basis[0, 0] * x + basis[0, 1] * y + basis[0, 2] * z
            v = basis[1, 0] * x + basis[1, 1] * y + basis[1, 2] * z
            w = basis[2, 0] * x + basis[2, 1] * y + basis[2, 2] * z
            turned[p, 0], turned[p, 1], turned[p, 2] = u, v, w
            u0, v0, w0 = min(u0, u), min(v0, v), min(w0, w)
            u1, v1, w1 = max(u1, u), max(v1, v), max(w1, w)
        if u1 < low[0] or u0 > high0 or v1 < low[1] or v0 > high1 or w1 < start + slack or w0 > end + travel:
            continue
        hits = 0
        for t in range(spans[body, 0], spans[body, 1]):
            a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
            x0, x1, x2 = turned[a, 0], turned[b, 0], turned[c, 0]
            left, right = min(x0, x1, x2), max(x0, x1, x2)
            if right < low[0] or left > high0:
                continue
            y0, y1, y2 = turned[a, 1], turned[b, 1], turned[c, 1]
            below, above = min(y0, y1, y2), max(y0, y1, y2)
            if above < low[1] or below > high1:
                continue
            z0, z1, z2 = turned[a, 2], turned[b, 2], turned[c, 2]
            if max(z0, z1, z2) < start + slack:
                continue
            a1, b1, a2, b2 = x1 - x0, y1 - y0, x2 - x0, y2 - y0
            area = a1 * b2 - a2 * b1
            if abs(area) < _FLAT:
                continue
            j0 = max(int(np.ceil((left - low[0]) / step[0])), 0)
            j1 = min(int(np.floor((right - low[0]) / step[0])), columns - 1)
            i0 = max(int(np.ceil((below - low[1]) / step[1])), 0)
            i1 = min(int(np.floor((above - low[1]) / step[1])), rows - 1)
            s1, s2, r1, r2 = b2 / area, -a2 / area, -b1 / area, a1 / area
            for i in range(i0, i1 + 1):
                y = low[1] + i * step[1] - y0
                for j in range(j0, j1 + 1):
                    if near[i, j] == np.inf:
                        continue
                    x = low[0] + j * step[0] - x0
                    s, r = s1 * x + s2 * y, r1 * x + r2 * y
                    if s < -1e-9 or r < -1e-9 or s + r > 1.0 + 1e-9:
                        continue
                    depth = z0 + s * (z1 - z0) + r * (z2 - z0)
                    if depth > near[i, j] + slack and depth < far[i, j] + travel:
                        if stamp[i, j] != body:
                            hits += 1
                        stamp[i, j] = body
        if hits:
            is_met[body] = hits >= least or _has_block(stamp, body, wide)
    return is_met


@compiled()
def _has_block(stamp, value, wide):  # pragma: no cover - compiled
    """Is there a rectangle of `wide` (rows, columns) samples that all hold `value`?"""
    rows, columns = stamp.shape
    runs = np.zeros(columns, np.int64)
    for i in range(rows):
        across = 0
        for j in range(columns):
            runs[j] = runs[j] + 1 if stamp[i, j] == value else 0
            across = across + 1 if runs[j] >= wide[0] else 0
            if across >= wide[1]:
                return True
    return False


@compiled()
def picture(flat, triangles, numbers, owners, low, step, depth, owner, face):  # pragma: no cover - compiled
    """The nearest triangle at every sample: its distance, whose it is, and its number; -1 where nothing is met.

    `flat` (n, 3) are points in the frame of the view; `numbers` are the triangles that are looked at, `owners` theirs.
    Along a row of samples each of the two coordinates within a triangle is a straight line, so the samples that lie in
    it are those between two bounds.
    """
    rows, columns = depth.shape
    for n in range(len(numbers)):
        t = numbers[n]
        a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
        u0, v0, w0 = flat[a, 0], flat[a, 1], flat[a, 2]
        a1, b1, c1 = flat[b, 0] - u0, flat[b, 1] - v0, flat[b, 2] - w0
        a2, b2, c2 = flat[c, 0] - u0, flat[c, 1] - v0, flat[c, 2] - w0
        area = a1 * b2 - a2 * b1
        if abs(area) < _FLAT:
            continue
        j0 = max(int(np.ceil((u0 + min(0.0, a1, a2) - low[0]) / step)), 0)
        j1 = min(int(np.floor((u0 + max(0.0, a1, a2) - low[0]) / step)), columns - 1)
        if j0 > j1:
            continue
        i0 = max(int(np.ceil((v0 + min(0.0, b1, b2) - low[1]) / step)), 0)
        i1 = min(int(np.floor((v0 + max(0.0, b1, b2) - low[1]) / step)), rows - 1)
        if i0 > i1:  # between two rows of samples, as most are where a view is only tried
            continue
        whose = owners[n]
        s1, r1 = b2 / area, -b1 / area  # how the coordinates grow across,
        s2, r2 = -a2 / area, a1 / area  # and up
        q1 = -s1 - r1
        s_out, r_out, q_out = -1.0 / s1 if s1 else 0.0, -1.0 / r1 if r1 else 0.0, -1.0 / q1 if q1 else 0.0
        for i in range(i0, i1 + 1):
            y = low[1] + i * step - v0
            s0, r0 = s2 * y, r2 * y
            first, last = -np.inf, np.inf
            for side in range(3):  # s, r and 1 - s - r are not below 0
                if side == 0:
                    at, out = s0 + 1e-9, s_out
                elif side == 1:
                    at, out = r0 + 1e-9, r_out
                else:
                    at, out = 1.0 + 1e-9 - s0 - r0, q_out
                if out < 0.0:
                    first = max(first, at * out)
                elif out > 0.0:
                    last = min(last, at * out)
                elif at < 0.0:
                    last = -np.inf
            if first > last:
                continue
            j_from = max(int(np.ceil((first + u0 - low[0]) / step)), j0)
            j_to = min(int(np.floor((last + u0 - low[0]) / step)), j1)
            start, slope = w0 + s0 * c1 + r0 * c2, s1 * c1 + r1 * c2
            for j in range(j_from, j_to + 1):
                along = start + slope * (low[0] + j * step - u0)
                if along < depth[i, j]:
                    depth[i, j] = along
                    owner[i, j] = whose
                    face[i, j] = t


@compiled()
def firsts(starts, copies, standing):  # pragma: no cover - compiled
    """For each copy along how many lines it is the first that stands; line `i` meets `copies[starts[i]:starts[i + 1]]`
    in that order."""
    count = np.zeros(len(standing), np.int64)
    for line in range(len(starts) - 1):
        for k in range(starts[line], starts[line + 1]):
            if standing[copies[k]]:
                count[copies[k]] += 1
                break
    return count


@compiled()
def normals(flat, triangles, corners, face, basis, low, step, normal_of):  # pragma: no cover - compiled
    """Unit normals at every sample, written into `normal_of` (rows, columns, 3) where `face` is not -1.

    `flat` (n, 3) are points in the frame of the view, `corners` (m, 3, 3) the normals in space at the corners of the
    triangles; a normal is mixed from those of the triangle's corners and turned into the frame `basis`.
    """
    rows, columns = face.shape
    mixed = np.empty(3)
    for i in range(rows):
        y = low[1] + i * step
        for j in range(columns):
            t = face[i, j]
            if t < 0:
                continue
            x = low[0] + j * step
            a, b, c = triangles[t, 0], triangles[t, 1], triangles[t, 2]
            a1, b1 = flat[b, 0] - flat[a, 0], flat[b, 1] - flat[a, 1]
            a2, b2 = flat[c, 0] - flat[a, 0], flat[c, 1] - flat[a, 1]
            area = a1 * b2 - a2 * b1
            if abs(area) < 1e-12:
                area = 1e-12
            s = ((x - flat[a, 0]) * b2 - a2 * (y - flat[a, 1])) / area
            r = (a1 * (y - flat[a, 1]) - (x - flat[a, 0]) * b1) / area
            size = 0.0
            for k in range(3):
                mixed[k] = (1.0 - s - r) * corners[t, 0, k] + s * corners[t, 1, k] + r * corners[t, 2, k]
                size += mixed[k] * mixed[k]
            size = max(np.sqrt(size), 1e-12)
            for k in range(3):
                turned = basis[k, 0] * mixed[0] + basis[k, 1] * mixed[1] + basis[k, 2] * mixed[2]
                normal_of[i, j, k] = turned / size


@compiled()
def drawn_edges(owner, depth, normal, step, crease, jump, outline, inner):  # pragma: no cover - compiled
    """Where a line is drawn, written into masks (rows, columns): `outline` between two copies, or a copy and nothing,
    `inner` where a copy's face turns (cosine below `crease`) or steps back by `jump` times what its slope explains."""
    rows, columns = owner.shape
    for i in range(rows):
        for j in range(columns):
            for side in range(2):
                m, n = i + 1 - side, j + side
                if m >= rows or n >= columns:
                    continue
                if owner[i, j] != owner[m, n]:
                    outline[i, j] = True
                    continue
                if owner[i, j] < 0:
                    continue
                turn = 0.0
                for k in range(3):
                    turn += normal[i, j, k] * normal[m, n, k]
                away = abs(depth[i, j] - depth[m, n])
                if turn < crease or away > jump * step / (abs(normal[i, j, 2]) + 0.12):
                    inner[i, j] = True


@compiled()
def spotted(places, faces, copies, owner, depth, normal, low, step, radius, is_spotted):  # pragma: no cover - compiled
    """Samples that lie within `radius` mm of a place on its own copy, on the face that looks the same way, written into
    the mask `is_spotted` (rows, columns). `places` and `faces`, what way they look, are (n, 3) in the frame of the view."""
    rows, columns = owner.shape
    for n in range(len(places)):
        u, v, w = places[n, 0], places[n, 1], places[n, 2]
        j0 = max(int(np.ceil((u - radius - low[0]) / step)), 0)
        j1 = min(int(np.floor((u + radius - low[0]) / step)), columns - 1)
        i0 = max(int(np.ceil((v - radius - low[1]) / step)), 0)
        i1 = min(int(np.floor((v + radius - low[1]) / step)), rows - 1)
        for i in range(i0, i1 + 1):
            y = low[1] + i * step - v
            for j in range(j0, j1 + 1):
                if owner[i, j] != copies[n] or is_spotted[i, j]:
                    continue
                alike = 0.0
                for k in range(3):
                    alike += normal[i, j, k] * faces[n, k]
                if alike < 0.5:
                    continue
                x = low[0] + j * step - u
                z = depth[i, j] - w
                if x * x + y * y + z * z <= radius * radius:
                    is_spotted[i, j] = True


@compiled()
def coloured(owner, normal, base, shade, light, picture):  # pragma: no cover - compiled
    """Colours (rows, columns, 3) of what is met: between its copy's in `shade` (copies, 3), where no `light` (3,) falls on it,
    and that in `base`. White where nothing is met."""
    rows, columns = owner.shape
    for i in range(rows):
        for j in range(columns):
            copy = owner[i, j]
            if copy < 0:
                picture[i, j, :] = 255.0
                continue
            falls = normal[i, j, 0] * light[0] + normal[i, j, 1] * light[1] + normal[i, j, 2] * light[2]
            lit = min(max(falls, 0.0), 1.0)
            for k in range(3):
                picture[i, j, k] = min(shade[copy, k] + lit * (base[copy, k] - shade[copy, k]), 255.0)


@compiled()
def inked(
    owner, is_new, picture, glued, hatch, outline, inner, ghost, around, ink, inks, colours
):  # pragma: no cover - compiled
    """The finished `colours` (rows, columns, 3), rows downwards, of a `picture` of shaded copies, rows upwards.

    By masks (rows, columns): `glued` is hatched, by strokes `hatch` cells from one to the next and wide; on copies that are not
    new `outline` and `inner` lines are grey and a `ghost` line lets through what it lies on; on new ones `inner` lines have the
    `ink` of their copy (copies, 3), and over all lies `around`. `inks` (3,) of all others are black, grey and that of strokes.
    """
    rows, columns = owner.shape
    black, grey, stroke = inks
    for i in range(rows):
        for j in range(columns):
            copy = owner[i, j]
            fresh = is_new[copy]
            for k in range(3):
                colour = picture[i, j, k]
                if glued[i, j]:
                    if (i + j) % hatch[0] < hatch[1]:
                        colour = np.float32(stroke[k])
                    else:  # so that the strokes show on any foam, in grey as well
                        colour = np.float32(255.0) - np.float32(0.25) * (np.float32(255.0) - colour)
                if not fresh:
                    if outline[i, j] or inner[i, j]:
                        colour = np.float32(grey[k])
                    if ghost[i, j]:
                        colour = np.float32(np.float32(0.4) * colour + 0.6 * grey[k])
                elif inner[i, j]:
                    colour = np.float32(ink[copy, k])
                if around[i, j]:
                    colour = np.float32(black[k])
                colours[rows - 1 - i, j, k] = np.uint8(np.rint(colour))


@compiled()
def halved(picture, half):  # pragma: no cover - compiled
    """Every two by two cells of a `picture` (rows, columns, 3) made one of `half`, (rows // 2, columns // 2, 3)."""
    for i in range(half.shape[0]):
        for j in range(half.shape[1]):
            for k in range(3):
                level = 2
                for a in range(2):
                    for b in range(2):
                        level += picture[2 * i + a, 2 * j + b, k]
                half[i, j, k] = level >> 2


@compiled()
def around(owner, chosen, reach, is_near):  # pragma: no cover - compiled
    """The outline of `chosen` copies (a mask of copies), a band of `reach` samples to both sides, written into the mask
    `is_near` (rows, columns)."""
    rows, columns = owner.shape
    for i in range(rows):
        for j in range(columns):
            for side in range(2):
                m, n = i + 1 - side, j + side
                if m >= rows or n >= columns or owner[i, j] == owner[m, n]:
                    continue
                one, two = owner[i, j], owner[m, n]
                if not ((one >= 0 and chosen[one]) or (two >= 0 and chosen[two])):
                    continue
                for a in range(max(i - reach, 0), min(i + reach + 1, rows)):
                    for b in range(max(j - reach, 0), min(j + reach + 1, columns)):
                        if (a - i) * (a - i) + (b - j) * (b - j) <= reach * reach:
                            is_near[a, b] = True


@compiled()
def run_over(owner, price, ends, spots, shares, low, step):  # pragma: no cover - compiled
    """What straight lines from `ends` (k, 2) to `spots` (k, 2) run over: the mean (k,), at the `shares` (n,) of each, of the
    `price` (copies,) of the copy that is met there, if it is not the one on which the line ends."""
    rows, columns = owner.shape
    found = np.zeros(len(ends))
    for k in range(len(ends)):
        x, y = ends[k, 0], ends[k, 1]
        own = owner[int(np.rint((y - low[1]) / step)), int(np.rint((x - low[0]) / step))]
        for share in shares:
            column = int(np.rint((x + share * (spots[k, 0] - x) - low[0]) / step))
            row = int(np.rint((y + share * (spots[k, 1] - y) - low[1]) / step))
            if 0 <= row < rows and 0 <= column < columns:
                met = owner[row, column]
                if met >= 0 and met != own:
                    found[k] += price[met]
    return found / len(shares)


@compiled()
def clear(places, lean, own, low, step, shape, starts, copies, depths, standing, near):  # pragma: no cover - compiled
    """Which places (k, 3), in the frame of a view, have nothing that stands before them.

    The lists are those of `firsts`, with the depth at which each copy is met, for a grid of `shape`. A copy less than
    `near` before a place does not count, nor does the copy `own` on which it lies less than its `lean` (k,).
    """
    is_clear = np.ones(len(places), np.bool_)
    for p in range(len(places)):
        column = min(max(int(np.rint((places[p, 0] - low[0]) / step)), 0), shape[1] - 1)
        row = min(max(int(np.rint((places[p, 1] - low[1]) / step)), 0), shape[0] - 1)
        line = row * shape[1] + column
        for k in range(starts[line], starts[line + 1]):
            before = places[p, 2] - depths[k]
            if before <= near:
                break
            if standing[copies[k]] and (copies[k] != own or before > lean[p]):
                is_clear[p] = False
                break
    return is_clear
