"""What happens to a page's picture before it is scanned: seams of a mosaic, lettering and marks by hand, rough ink."""

from __future__ import annotations

import random

import cv2
import numpy as np
from numpy.typing import NDArray

Picture = NDArray[np.uint8]
_FACES = (cv2.FONT_HERSHEY_SIMPLEX, cv2.FONT_HERSHEY_DUPLEX, cv2.FONT_HERSHEY_COMPLEX, cv2.FONT_HERSHEY_SCRIPT_SIMPLEX)
_SYLLABLES = ("STO", "RE", "LAB", "ORA", "TO", "RY", "PUMP", "ROOM", "SHOP", "HALL", "AREA", "UP", "WORK", "ES", "IN")
MOST_TONES = 0.06
"""Share of a page in half tones from which it is no drawing in ink."""


def altered_picture(pixels: Picture, m_per_px: float, rng: random.Random) -> Picture:
    """Change a page's picture in some of these ways."""
    if rng.random() < 0.2:
        pixels = with_lettering(pixels, m_per_px, rng)
    if rng.random() < 0.12 and float(((pixels > 60) & (pixels < 245)).mean()) < MOST_TONES:
        pixels = with_rough_ink(pixels, rng)
    if rng.random() < 0.15:
        pixels = with_seams(pixels, rng)
    if rng.random() < 0.15:
        pixels = with_pencil(pixels, m_per_px, rng)
    return pixels


def with_lettering(pixels: Picture, m_per_px: float, rng: random.Random) -> Picture:
    """Write words in strokes, some with their letters far apart, as draughtsmen do."""
    made = pixels.copy()
    height, width = made.shape
    thick = rng.choice([1, 1, 2])
    for _ in range(rng.randint(2, 14)):
        high = rng.uniform(0.12, 0.45) / m_per_px  # letters of 0.12 to 0.45 m
        face = rng.choice(_FACES)
        word = "".join(rng.choice(_SYLLABLES) for _ in range(rng.randint(1, 3)))
        x, y = rng.uniform(0.05, 0.9) * width, rng.uniform(0.05, 0.95) * height
        step = high * rng.choice([0.9, 1.0, 1.6, 2.6])
        for i, letter in enumerate(word):
            at = (int(x + i * step), int(y + rng.uniform(-0.05, 0.05) * high))
            cv2.putText(made, letter, at, face, high / 22, rng.choice([0, 0, 90]), thick, cv2.LINE_AA)
    return made


def with_rough_ink(pixels: Picture, rng: random.Random) -> Picture:
    """Let lines swell and shrink as ink on linen does, and drop out in places."""
    noise = np.random.default_rng(rng.randrange(2**32)).standard_normal(pixels.shape).astype(np.float32)
    noise = cv2.GaussianBlur(noise, (0, 0), rng.uniform(0.8, 2.5))
    noise *= rng.uniform(0.08, 0.3) / max(float(noise.std()), 1e-6)
    soft = 1.0 - cv2.GaussianBlur(pixels, (0, 0), 0.8).astype(np.float32) / 255
    sharp = 1 / (1 + np.exp(-rng.uniform(8, 20) * (soft + noise * (soft > 0.03) - rng.uniform(0.25, 0.5))))
    return np.asarray(255 * (1 - sharp), np.uint8)


def with_seams(pixels: Picture, rng: random.Random) -> Picture:
    """Cut a page into tiles that do not quite meet: shifted by a pixel, with a seam of paper or grey between."""
    made = pixels.copy()
    size = rng.randint(90, 400)
    height, width = made.shape
    for x in range(rng.randint(0, size), width - 2, size):
        if rng.random() < 0.5:
            made[:, x : x + rng.choice([1, 1, 2])] = rng.choice([255, 255, 200])
        if rng.random() < 0.4:
            made[:, x:] = np.roll(made[:, x:], rng.choice([-1, 1]), axis=0)
    for y in range(rng.randint(0, size), height - 2, size):
        if rng.random() < 0.5:
            made[y : y + rng.choice([1, 1, 2]), :] = rng.choice([255, 255, 200])
    return made


def with_pencil(pixels: Picture, m_per_px: float, rng: random.Random) -> Picture:
    """Mark a page up by hand: loops round rooms, lines, scribbles and strokes of a felt pen, in any tone."""
    made = pixels.copy()
    height, width = made.shape
    tone, slim = rng.choice([0, 60, 110, 160, 200]), max(1, round(rng.uniform(0.015, 0.05) / m_per_px))
    for _ in range(rng.randint(1, 6)):
        x, y = rng.uniform(0.1, 0.9) * width, rng.uniform(0.1, 0.9) * height
        kind, size = rng.choice(["loop", "loop", "stroke", "felt", "scribble"]), rng.uniform(0.6, 5.0) / m_per_px
        if kind == "loop":
            turns = np.linspace(0, 2 * np.pi * rng.uniform(0.9, 1.15), 40)
            stretch, lean = rng.uniform(0.3, 1.0), rng.uniform(-0.5, 0.5)
            across, down = size * np.cos(turns), stretch * size * np.sin(turns)
            points = np.column_stack([x + across + lean * down, y + down])
        elif kind == "scribble":
            steps = np.linspace(0, 1, 30)
            points = np.column_stack([x + 0.5 * size * steps, y + 0.2 * size * np.where(np.arange(30) % 2, 1, -1)])
        else:
            turn = rng.uniform(0, 2 * np.pi)
            steps = np.linspace(0, size, 20)
            points = np.column_stack([x + steps * np.cos(turn), y + steps * np.sin(turn)])
        noise = np.random.default_rng(rng.randrange(2**32)).normal(0, 0.02, points.shape).cumsum(0) / m_per_px
        thick = max(2, round(rng.uniform(0.1, 0.3) / m_per_px)) if kind == "felt" else slim
        path = np.round((points + (0.2 if kind == "felt" else 1.0) * noise) * 8).astype(np.int32)
        shown = np.full_like(made, 255)
        cv2.polylines(shown, [path], False, tone, thick, cv2.LINE_AA, 3)
        made = np.minimum(made, shown)
    return made
