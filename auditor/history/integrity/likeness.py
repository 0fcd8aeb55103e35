"""Ways in which one grid can be made out of another, each as a key that both then share."""

from __future__ import annotations

import numpy as np

from auditor.history.integrity.grids import Grids

# Multiplier of the finaliser of a public hash (splitmix64); any odd mixing constants would do.
COARSEST = 0.0125  # half a step over the mean: grids written more coarsely cannot show a factor
MOST_CANDIDATES = 1_000_000
SAMPLED = 500  # grids by which the number of candidates is estimated
_MIX = (np.uint64(0xBF58476D1CE4E5B9), np.uint64(0x94D049BB133111EB))


def keys(grids: Grids) -> dict[str, np.ndarray]:
    """For each way, one number per grid (g,): grids with the same number are candidates. Ways: 'shifted' (round the
    reading order), 'mirrored' (left to right, upside down, or both), 'transposed', 'reordered', 'offset' (a constant
    added). Keys hold for one unit only; 0 where a way does not apply."""
    own, unit = grids.own, _mixed(np.array([hash_text(text) for text in grids.unit], dtype=np.uint64))
    mirrored, transposed = _turned(grids)
    found = {
        "shifted": _least_rotation(own),
        "mirrored": mirrored,
        "transposed": transposed,
        "reordered": _mixed(own.astype(np.uint64)).sum(axis=1, dtype=np.uint64),
        "offset": _hashed(own - own[:, :1]),
    }
    return {way: np.where(key == 0, key, key ^ unit) for way, key in found.items()}


def hash_text(text: object) -> int:
    """A fixed number for a short text (Python's own hash changes from run to run)."""
    return int.from_bytes(str(text).encode()[:7].ljust(7, b"\0"), "little")


def heads_and_tails(grids: Grids) -> tuple[np.ndarray, np.ndarray]:
    """Keys of all readings but the last, and of all but the first: equal where readings were moved on by one."""
    return _hashed(grids.own[:, :-1]), _hashed(grids.own[:, 1:])


def _mixed(values: np.ndarray) -> np.ndarray:
    x = values.astype(np.uint64) + np.uint64(0x9E3779B97F4A7C15)
    for shift, factor in ((np.uint64(30), _MIX[0]), (np.uint64(27), _MIX[1])):
        x = (x ^ (x >> shift)) * factor
    return x ^ (x >> np.uint64(31))


def _hashed(values: np.ndarray) -> np.ndarray:
    """One number per row: order counts."""
    weights = _mixed(np.arange(1, values.shape[1] + 1, dtype=np.uint64)) | np.uint64(1)
    return (_mixed(values.astype(np.uint64)) * weights).sum(axis=1, dtype=np.uint64)


def _least_rotation(own: np.ndarray) -> np.ndarray:
    least = _hashed(own)
    for by in range(1, own.shape[1]):
        least = np.minimum(least, _hashed(np.roll(own, by, axis=1)))
    return least


def _turned(grids: Grids) -> tuple[np.ndarray, np.ndarray]:
    n = grids.own.shape[1]
    mirrored = np.zeros(len(grids.own), dtype=np.uint64)
    transposed = np.zeros(len(grids.own), dtype=np.uint64)
    for columns in np.unique(grids.columns[grids.columns > 0]):
        mine = grids.columns == columns
        shaped = grids.own[mine].reshape(-1, n // columns, columns)
        turns = (shaped, shaped[:, :, ::-1], shaped[:, ::-1], shaped[:, ::-1, ::-1])
        mirrored[mine] = np.minimum.reduce([_hashed(turn.reshape(-1, n)) for turn in turns])
        if 1 < columns < n:
            across = _hashed(shaped.transpose(0, 2, 1).reshape(-1, n))
            transposed[mine] = np.minimum(_hashed(grids.own[mine]), across)
    return mirrored, transposed


def scaled_pairs(grids: Grids, fit: np.ndarray) -> np.ndarray:
    """Pairs (m, 2) of grids of which one is the other times a factor, to within the rounding of both.

    fit: (g,), which grids to try. A k-d tree over the grids divided by their means gives candidates; a pair is kept
    where one factor brings every reading within half a step of both. Where there are too many candidates (one template
    for a whole store), the more coarsely written half is left out."""
    from scipy.spatial import cKDTree

    chosen = np.flatnonzero(fit & (grids.fpm.mean(axis=1) > 0))
    half = grids.step_fpm / (2 * np.maximum(grids.fpm.mean(axis=1), 1e-9))
    chosen = chosen[half[chosen] <= COARSEST]
    while len(chosen) > 1:
        tree = cKDTree(grids.fpm[chosen] / grids.fpm[chosen].mean(axis=1, keepdims=True))
        reach = 2 * float(half[chosen].max()) * grids.fpm.shape[1] ** 0.5 * 1.01
        some = tree.data[:: max(1, len(chosen) // SAMPLED)]
        near = tree.query_ball_point(some, reach, return_length=True).mean() - 1
        if near * len(chosen) / 2 <= MOST_CANDIDATES:
            pairs = chosen[tree.query_pairs(reach, output_type="ndarray")]
            return pairs[_one_factor(grids, pairs)]
        finest = np.argsort(half[chosen], kind="stable")[: len(chosen) // 2]
        chosen = np.sort(chosen[finest])
    return np.empty((0, 2), dtype=int)


def _one_factor(grids: Grids, pairs: np.ndarray) -> np.ndarray:
    a, b = grids.fpm[pairs[:, 0]], grids.fpm[pairs[:, 1]]
    half_a, half_b = grids.step_fpm[pairs[:, 0], None] / 2, grids.step_fpm[pairs[:, 1], None] / 2
    low = (a - half_a) / (b + half_b)
    with np.errstate(divide="ignore", invalid="ignore"):
        high = np.where(b > half_b, (a + half_a) / (b - half_b), np.inf)
    return low.max(axis=1) <= high.min(axis=1) + 1e-9
