"""Camera model, poses and picture windows."""
import math

import cv2
import numpy as np


class Camera:
    def __init__(self, spec):
        self.spec = spec
        self.width, self.height = spec["size"]
        self.fx, self.fy, self.cx, self.cy = spec["fx"], spec["fy"], spec["cx"], spec["cy"]
        self.dist = spec["distortion"]

    def matrix(self):
        return np.array([[self.fx, 0, self.cx], [0, self.fy, self.cy], [0, 0, 1.0]])

    def bend(self, x, y):
        """Brown-Conrady: pinhole to distorted, normalised coordinates."""
        k1, k2, p1, p2, k3 = self.dist
        r2 = x * x + y * y
        radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3))
        return (x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x),
                y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y)

    def unbend(self, xd, yd):
        x, y = xd.copy(), yd.copy()
        for _ in range(12):
            bx, by = self.bend(x, y)
            x, y = x + xd - bx, y + yd - by
        return x, y

    def project(self, points):
        p = np.atleast_2d(points)
        x, y = self.bend(p[:, 0] / p[:, 2], p[:, 1] / p[:, 2])
        return np.stack([self.fx * x + self.cx, self.fy * y + self.cy], axis=1)

    def pinhole(self, points):
        """Where the camera without distortion would see them; pixels as in project()."""
        p = np.atleast_2d(points)
        return np.stack([self.fx * p[:, 0] / p[:, 2] + self.cx, self.fy * p[:, 1] / p[:, 2] + self.cy], axis=1)


def turn(axis, degrees):
    v = np.zeros(3)
    v["xyz".index(axis)] = math.radians(degrees)
    return cv2.Rodrigues(v)[0]


def look(at, target, right_hint, roll_deg):
    """R, t of a camera at `at` whose picture's right side is right_hint before the roll."""
    z = np.array(target, float) - at
    z /= np.linalg.norm(z)
    x = right_hint - z * (right_hint @ z)
    x /= np.linalg.norm(x)
    R = turn("z", roll_deg).T @ np.stack([x, np.cross(z, x), z])
    return R, -R @ at


def vec(v):
    return "<%s>" % ", ".join("%.9g" % a for a in v)


def full_window(camera):
    """Pinhole window (left, top, width, height in px, continuous edges) that the photo needs."""
    w, h = camera.width, camera.height
    u = np.concatenate([np.linspace(-1, w, 99), np.linspace(-1, w, 99), np.full(99, -1.0), np.full(99, float(w))])
    v = np.concatenate([np.full(99, -1.0), np.full(99, float(h)), np.linspace(-1, h, 99), np.linspace(-1, h, 99)])
    x, y = camera.unbend((u - camera.cx) / camera.fx, (v - camera.cy) / camera.fy)
    return box_window(np.stack([x * camera.fx + camera.cx, y * camera.fy + camera.cy], axis=1), 12)


def box_window(points, margin):
    low = np.floor(points.min(axis=0)) - margin - 0.5
    high = np.ceil(points.max(axis=0)) + margin + 0.5
    w, h = (np.ceil((high - low) / 4) * 4).astype(int)  # whole samples at any scale in quarters
    return float(low[0]), float(low[1]), int(w), int(h)


def camera_lines(camera, R, t, window):
    left, top, w, h = window
    centre = np.array([(left + w / 2 - camera.cx) / camera.fx, (top + h / 2 - camera.cy) / camera.fy, 1.0])
    return ["#declare Cam_at = %s;" % vec(-R.T @ t),
            "#declare Cam_right = %s;" % vec(R.T @ np.array([w / camera.fx, 0, 0])),
            "#declare Cam_up = %s;" % vec(R.T @ np.array([0, -h / camera.fy, 0])),
            "#declare Cam_direction = %s;" % vec(R.T @ centre)]
