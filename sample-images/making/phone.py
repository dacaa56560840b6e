"""What lens, sensor and phone do to a picture."""
import hashlib
import math

import cv2
import numpy as np

from making.cards import PAPER, PRINT_PX_PER_MM


def source_maps(camera, folder):
    """For each stored pixel, where the pinhole camera sees the same thing."""
    path = folder / ("maps-%s.npy" % hashlib.sha256(repr(camera.spec).encode()).hexdigest()[:12])
    if not path.exists():
        maps = np.empty((2, camera.height, camera.width), np.float32)
        u = (np.arange(camera.width) - camera.cx) / camera.fx
        for v in range(0, camera.height, 64):
            rows = (np.arange(v, min(v + 64, camera.height)) - camera.cy) / camera.fy
            x, y = camera.unbend(*np.meshgrid(u, rows))
            maps[0, v:v + 64], maps[1, v:v + 64] = x * camera.fx + camera.cx, y * camera.fy + camera.cy
        np.save(path, maps)
    return np.load(path)


def blur(channel, sigma_px):
    return channel if sigma_px < 0.05 else cv2.GaussianBlur(channel, (0, 0), sigma_px, borderType=cv2.BORDER_REPLICATE)


def sample(channel, window, scale, maps):
    # Sample i of a window covers left + [i, i + 1] / scale, so its centre is half a sample in.
    mx = (maps[0] - window[0]) * scale - 0.5
    my = (maps[1] - window[1]) * scale - 0.5
    return cv2.remap(channel, mx, my, cv2.INTER_CUBIC, borderMode=cv2.BORDER_REPLICATE)


def lens_blur(scale, sigma):
    """Blur still to add, in samples: the sensor's pixel box is part of sigma, the sample box is in."""
    return scale * math.sqrt(max(0.0, sigma**2 - 1 / (12 * scale**2)))


def through_lens(spec, camera, shot, frame, strip, folder):
    """Linear picture on the sensor, before exposure. frame, strip: (rendering, window, scale)."""
    maps, look_spec = source_maps(camera, folder), spec["look"]
    near_px, far_px = look_spec["card_blur_px"], look_spec.get("bench_blur_px", 0)
    picture, window, scale = frame
    laid_on = print_on_sheet(shot["sheet"], camera, maps, folder) if "sheet" in shot else None
    mask = near_mask(picture.shape, shot["near"], window, scale) if "near" in shot else None
    out = np.empty((camera.height, camera.width, 3), np.float32)
    for ch in range(3):
        plane = picture[:, :, ch].astype(np.float32) / 65535
        if mask is not None:
            plane = two_depths(plane, mask, 0 if laid_on is not None else lens_blur(scale, near_px), far_px * scale)
        elif laid_on is None:
            plane = blur(plane, lens_blur(scale, near_px))
        out[:, :, ch] = sample(plane, window, scale, maps)
        if laid_on is not None:
            out[:, :, ch] = blur(out[:, :, ch] * laid_on[:, :, ch], lens_blur(1, near_px))
    if strip:
        lay_strip(out, spec, maps, strip, shot.get("near_strip"))
    return np.maximum(out, 0)


def near_mask(shape, polygons, window, scale):
    """1 where something near the plane in focus is seen."""
    mask = np.zeros(shape[:2], np.float32)
    for poly in polygons:
        corners = (poly - np.array(window[:2])) * scale - 0.5
        cv2.fillPoly(mask, [np.round(corners * 16).astype(np.int32)], 1.0, cv2.LINE_8, 4)
    return mask


def two_depths(plane, mask, near_sigma, far_sigma):
    """What lies far behind the plane in focus is blurred more; the near part stands before it."""
    soft = blur(mask, near_sigma)
    small = lambda a: cv2.resize(a, None, fx=0.25, fy=0.25, interpolation=cv2.INTER_AREA)
    weight = blur(small(1 - mask), far_sigma / 4)  # on a quarter-size copy
    far = blur(small(plane * (1 - mask)), far_sigma / 4) / np.maximum(weight, 1e-3)
    far = cv2.resize(far, (plane.shape[1], plane.shape[0]), interpolation=cv2.INTER_LINEAR)
    return blur(plane * mask, near_sigma) + far * (1 - soft)


def lay_strip(out, spec, maps, strip, near):
    """Lays the finely rendered part over the picture, with a soft border."""
    picture, window, scale = strip
    sigma, m = lens_blur(scale, spec["look"]["edge_blur_px"]), 4
    inside = ((maps[0] > window[0] + m) & (maps[0] < window[0] + window[2] - m)
              & (maps[1] > window[1] + m) & (maps[1] < window[1] + window[3] - m))
    rows, cols = np.flatnonzero(inside.any(axis=1)), np.flatnonzero(inside.any(axis=0))
    cut = np.s_[rows[0]:rows[-1] + 1, cols[0]:cols[-1] + 1]
    weight = cv2.erode(inside[cut].astype(np.float32), np.ones((9, 9)), borderValue=0)
    weight = np.minimum(cv2.blur(weight, (7, 7), borderType=cv2.BORDER_CONSTANT), inside[cut])
    mask = near_mask(picture.shape, near, window, scale) if near else None
    for ch in range(3):
        plane = picture[:, :, ch].astype(np.float32) / 65535
        plane = blur(plane, sigma) if mask is None else two_depths(plane, mask, sigma, spec["look"]["behind_blur_px"] * scale)
        fine = sample(plane, window, scale, maps[(slice(None),) + cut])
        out[cut + (ch,)] += weight * (fine - out[cut + (ch,)])


def print_on_sheet(sheet, camera, maps, folder):
    """Share of blank paper's light that the print leaves, at each stored pixel; 1 beside the card."""
    path = folder / ("on-sheet-%s.npy" % hashlib.sha256(repr(sheet).encode()).hexdigest()[:12])
    if not path.exists():
        page = cv2.imread(str(sheet["file"]))
        (R, t), paper = sheet["pose"], sheet["paper"]
        eye = -R.T @ t
        length = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(paper, axis=0).T))])
        length += paper[-1, 0] - length[-1]  # along the paper, as x at its flat end
        blank = tuple(255 * p for p in PAPER[::-1])
        out = np.empty((camera.height, camera.width, 3), np.float16)
        for top in range(0, camera.height, 256):
            total = 0
            for dx in (-1 / 3, 0, 1 / 3):
                for dy in (-1 / 3, 0, 1 / 3):
                    u = (maps[0, top:top + 256] + dx - camera.cx) / camera.fx
                    v = (maps[1, top:top + 256] + dy - camera.cy) / camera.fy
                    ray = [R[0, k] * u + R[1, k] * v + R[2, k] for k in range(3)]
                    x, z = 0.0, 0.0
                    for _ in range(1 if len(paper) == 2 else 8):
                        far = (z - eye[2]) / ray[2]
                        x = eye[0] + far * ray[0]
                        z = np.interp(x, paper[:, 0], paper[:, 1])
                    y = eye[1] + far * ray[1]
                    px = (np.interp(x, paper[:, 0], length) if len(paper) > 2 else x) / sheet["scale"][0]
                    px = ((px * PRINT_PX_PER_MM) + page.shape[1] / 2 - 0.5).astype(np.float32)
                    py = (page.shape[0] / 2 - y / sheet["scale"][1] * PRINT_PX_PER_MM - 0.5).astype(np.float32)
                    total = total + cv2.remap(page, px, py, cv2.INTER_LINEAR, borderMode=cv2.BORDER_CONSTANT, borderValue=blank).astype(np.float32)
            out[top:top + 256] = total[:, :, ::-1] / 9 / (255 * np.array(PAPER, np.float32))
        np.save(path, out)
    return np.load(path)


def sensor(linear, spec, camera, rng):
    """Exposure, vignetting, shot and read noise, clipping; 1.0 is a full pixel."""
    look_spec = spec["look"]
    v, u = np.mgrid[0:camera.height, 0:camera.width].astype(np.float32)
    r2 = ((u - camera.cx) / camera.fx) ** 2 + ((v - camera.cy) / camera.fy) ** 2
    light = linear * look_spec["exposure"] / (1 + 0.45 * r2[..., None])
    light *= np.array(look_spec.get("gains", [1, 1, 1]), np.float32)
    full = look_spec["electrons"]
    noise = rng.standard_normal(light.shape, dtype=np.float32)
    # The phone keeps the noise in brightness and smears the noise in colour.
    grey = noise.mean(axis=2, keepdims=True)
    colour = np.stack([blur(noise[..., ch] - grey[..., 0], 1.1) for ch in range(3)], axis=2)
    noise = 1.55 * grey + 1.2 * colour
    return np.clip(light + noise * np.sqrt(light / full + (look_spec["read_noise"] / full) ** 2), 0, 1)


def tone_and_sharpen(light, spec):
    look_spec = spec["look"]
    curve = np.where(light <= 0.0031308, 12.92 * light, 1.055 * np.power(np.maximum(light, 1e-6), 1 / 2.4) - 0.055)
    curve = curve - look_spec.get("contrast", 0.0) * np.sin(2 * math.pi * curve).astype(np.float32)
    grey = curve @ np.array([0.299, 0.587, 0.114], np.float32)
    sharp = look_spec["sharpen"] * (grey - blur(grey, look_spec["sharpen_px"]))
    limit = 0.12  # phones stop the halo from growing
    out = curve + np.clip(sharp, -limit, limit)[..., None]
    return np.clip(out * 255 + 0.5, 0, 255).astype(np.uint8)


def shake(linear, pixels, degrees):
    size = int(pixels) | 1
    kernel = np.zeros((size, size), np.float32)
    c, a = size // 2, math.radians(degrees)
    d = np.array([math.cos(a), math.sin(a)]) * c
    cv2.line(kernel, tuple(np.round(c - d).astype(int).tolist()), tuple(np.round(c + d).astype(int).tolist()), 1.0, 1, cv2.LINE_AA)
    return cv2.filter2D(linear, -1, kernel / kernel.sum(), borderType=cv2.BORDER_REPLICATE)
