"""The printed cards."""
import cv2
import numpy as np


PRINT_PX_PER_MM = 28  # 711 dpi: cells, markers and marker modules all fall on whole pixels.

CARDS = {  # columns, rows, pitch mm, first id, lane (column, row, columns, rows), sheet mm
    "edge": (26, 8, 10, 200, (0, 3, 26, 2), (284, 124)),
    "lens": (13, 9, 20, 0, None, (297, 210)),
    "side": (26, 18, 10, 400, (0, 5, 26, 8), (297, 210)),
    "heel": (8, 8, 10, 600, (3, 1, 2, 7), (100, 100)),
}
PAPER, INK = (0.80, 0.80, 0.77), (0.034, 0.034, 0.037)  # linear reflectance, R G B
LANE = tuple(((v / 255 + 0.055) / 1.055) ** 2.4 if v > 10 else v / 255 / 12.92 for v in (0, 110, 60))


def card_cells(kind):
    """Yields (column, row, what, marker id) with what = black, marker or lane."""
    columns, rows, _, number, lane, _ = CARDS[kind]
    for r in range(rows):
        for c in range(columns):
            if lane and lane[0] <= c < lane[0] + lane[2] and lane[1] <= r < lane[1] + lane[3]:
                yield c, r, "lane", None
            elif (c + r) % 2 == 0:
                yield c, r, "black", None
            else:
                yield c, r, "marker", number
                number += 1


def card_corners(kind):
    """Inner points where four grid cells meet, card frame mm."""
    columns, rows, pitch, _, _, _ = CARDS[kind]
    lane = {(c, r) for c, r, what, _ in card_cells(kind) if what == "lane"}
    return np.array([((c - columns / 2) * pitch, (rows / 2 - r) * pitch, 0.0)
                     for r in range(1, rows) for c in range(1, columns)
                     if not {(c - 1, r - 1), (c, r - 1), (c - 1, r), (c, r)} & lane])


def write_card_print(kind, path, ink="colour"):
    """The print as linear reflectance, 8 bits; ink "grey" is a printer without colour."""
    columns, rows, pitch, _, _, (wide, high) = CARDS[kind]
    s = PRINT_PX_PER_MM
    page = np.empty((high * s, wide * s, 3), np.float32)
    page[:] = np.array(PAPER, np.float32)
    lane = PAPER if kind == "heel" else LANE if ink == "colour" else (np.dot(LANE, (0.2126, 0.7152, 0.0722)),) * 3
    x0, y0 = (wide - columns * pitch) * s // 2, (high - rows * pitch) * s // 2
    dictionary = cv2.aruco.Dictionary_get(cv2.aruco.DICT_5X5_1000)
    side, edge = 3 * pitch * s // 4, pitch * s // 8
    for c, r, what, number in card_cells(kind):
        cell = page[y0 + r * pitch * s:y0 + (r + 1) * pitch * s, x0 + c * pitch * s:x0 + (c + 1) * pitch * s]
        if what == "marker":
            bits = cv2.aruco.drawMarker(dictionary, number, 7)
            mark = np.kron(bits, np.ones((side // 7, side // 7), np.uint8)) > 0
            cell[edge:edge + side, edge:edge + side] = np.where(mark[..., None], PAPER, INK)
        else:
            cell[:] = lane if what == "lane" else INK
    if kind != "heel":  # its bar is cut off
        draw_bar(page, y0 + rows * pitch * s + 6 * s, wide * s // 2, "200 mm  check with calipers        %s card" % kind)
    rng = np.random.default_rng(26031)  # mottle of the paper
    mottle = rng.standard_normal((high * 2, wide * 2)).astype(np.float32)
    mottle = cv2.resize(mottle, (wide * s, high * s), interpolation=cv2.INTER_CUBIC)
    out = np.empty(page.shape, np.uint8)
    for top in range(0, len(page), 500):
        band = page[top:top + 500] * (1 + 0.010 * mottle[top:top + 500, :, None])
        out[top:top + 500] = np.clip(band[:, :, ::-1] * 255 + 0.5, 0, 255)
    cv2.imwrite(str(path), out)


def draw_bar(page, y, x, text):
    """The check bar and a line of print under the grid."""
    s = PRINT_PX_PER_MM
    page[y - 4:y + 4, x - 100 * s:x + 100 * s] = INK
    for end in (-100, 100):
        page[y - 2 * s:y + 2 * s, x + end * s - 4:x + end * s + 4] = INK
    mask = np.zeros((7 * s, page.shape[1]), np.uint8)
    cv2.putText(mask, text, (x - 60 * s, 5 * s), cv2.FONT_HERSHEY_SIMPLEX, 2.4, 255, 5, cv2.LINE_AA)
    page[y:y + 7 * s] += (np.array(INK, np.float32) - page[y:y + 7 * s]) * (mask[..., None] / 255.0)
