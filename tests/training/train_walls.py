"""Train the network that tells walls, doors and windows on a scan, and write it as ONNX.

Usage: python -m tests.training.train_walls --seconds 480 --out FOLDER [--from walls.pt, walls.onnx or state.pt]
[--shares 0.0 0.5] [--workers 14]
It needs PyTorch with a CUDA device, PyMuPDF, shapely, OpenCV and onnx; nothing else of the project but the drawing of
`tests.trace` and of this folder. Where there are several devices, each takes crops of its own and they learn together.
Pages are drawn while it trains, each used for a while and then replaced; the scanner's part (turning, stretch, blur,
noise, dirt, packing, thresholding) is done on the device, anew for every crop. A training may be cut into runs: each
says which shares of the whole it covers, writes `state.pt`, and the next goes on from there.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import os
import queue
import threading
import time
from collections.abc import Sequence
from itertools import pairwise
from pathlib import Path

import cv2
import numpy as np
import onnx
import shapely
import torch
from onnx import numpy_helper
from torch import Tensor, distributed, nn
from torch.nn import functional
from torch.nn.parallel import DistributedDataParallel

from tests.training.pages import CLASSES, M_PER_PX, Page, make_page

CROP = 640
WIDTHS = (32, 64, 96, 128, 160)
RESOLUTIONS = (256, 320, 384, 512, 640, 768, 1024, 1408)
"""Pixels along a crop before the scanner's work: that nearest to the page's own."""
PAGES_A_STEP = 4
"""New pages that are taken in between two steps, at the most."""
SCANNED_EVERY = 2
"""Steps from one scan of new crops to the next: scanning takes as long as learning."""
TOGETHER = 24
"""Crops that go through the scanner together; they come from pages of like resolution."""
JUDGED_FROM = 10_000_000
"""Seeds from here on are for judging and never trained on."""


def block(inner: int, outer: int, *, dilation: int = 1) -> nn.Sequential:
    """Two convolutions, each normed and rectified."""
    layers: list[nn.Module] = []
    for a, b in ((inner, outer), (outer, outer)):
        layers += [
            nn.Conv2d(a, b, 3, padding=dilation, dilation=dilation, bias=False),
            nn.BatchNorm2d(b),
            nn.ReLU(inplace=True),
        ]
    return nn.Sequential(*layers)


class WallNetwork(nn.Module):
    """An encoder and decoder with links between them (U-Net): darkness 1 × H × W to chances 6 × H × W; H, W mod 32 = 0.

    The first class is nothing, then `CLASSES`.
    """

    def __init__(self) -> None:
        super().__init__()
        w, rising = WIDTHS, range(len(WIDTHS) - 1)
        self.stem = nn.Sequential(nn.Conv2d(1, w[0], 4, stride=2, padding=1), nn.ReLU(inplace=True))
        self.down = nn.ModuleList([block(w[max(i - 1, 0)], w[i]) for i in range(len(w))])
        self.wide = nn.ModuleList([block(w[-1], w[-1], dilation=d) for d in (2, 3)])
        self.lift = nn.ModuleList([nn.ConvTranspose2d(w[i + 1], w[i], 2, stride=2) for i in reversed(rising)])
        self.up = nn.ModuleList([block(2 * w[i], w[i]) for i in reversed(rising)])
        self.head = nn.ConvTranspose2d(w[0], len(CLASSES) + 1, 2, stride=2)

    def forward(self, x: Tensor) -> Tensor:
        x = self.stem(x)
        kept = []
        for i, stage in enumerate(self.down):
            x = stage(x if i == 0 else functional.max_pool2d(x, 2))
            kept.append(x)
        for stage in self.wide:
            x = x + stage(x)
        for lift, stage, side in zip(self.lift, self.up, reversed(kept[:-1]), strict=True):
            x = stage(torch.cat([lift(x), side], 1))
        return self.head(x)


class Chances(nn.Module):
    """The network as it is shipped: chances instead of scores."""

    def __init__(self, network: nn.Module) -> None:
        super().__init__()
        self.network = network

    def forward(self, x: Tensor) -> Tensor:
        return torch.softmax(self.network(x), 1)


def recalled(network: WallNetwork, file: Path, crops: Sequence[tuple[Tensor, Tensor]]) -> None:
    """Give a network the weights of one that was written as ONNX, where each norm is folded into its convolution.

    The norms are unfolded by what they see of ``crops``: the network says the same as before, and can learn on. A class
    that the written network did not know begins as one that is hardly ever seen.
    """
    graph = onnx.load(file).graph
    values = {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}
    folded = [[values[name] for name in node.input[1:]] for node in graph.node if node.op_type.startswith("Conv")]
    device = next(network.parameters()).device
    layers: list[nn.Module] = []
    kinds = (nn.Conv2d, nn.ConvTranspose2d, nn.BatchNorm2d)
    hooks = [m.register_forward_hook(lambda m, *_: layers.append(m)) for m in network.modules() if isinstance(m, kinds)]
    network.eval()
    with torch.no_grad():
        network(torch.zeros(1, 1, 64, 64, device=device))
        for hook in hooks:
            hook.remove()
        norms: list[nn.BatchNorm2d] = []
        rest = iter(folded)
        for layer, after in zip(layers, [*layers[1:], None], strict=True):
            if isinstance(layer, nn.BatchNorm2d):
                continue
            weight, bias = next(rest)
            if layer is network.head and weight.shape[1] < layer.weight.shape[1]:
                missing = layer.weight.shape[1] - weight.shape[1]
                weight = torch.cat([weight, torch.zeros(weight.shape[0], missing, *weight.shape[2:])], 1)
                bias = torch.cat([bias, torch.full((missing,), -6.0)])
            layer.weight.copy_(weight)
            if isinstance(after, nn.BatchNorm2d):
                after.weight.fill_(1.0)
                after.bias.copy_(bias)
                after.running_mean.zero_()
                after.running_var.fill_(1.0 - after.eps)
                norms.append(after)
            else:
                layer.bias.copy_(bias)
        sums = [torch.zeros(2, len(norm.bias), device=device) for norm in norms]

        def counted(k: int):
            def look(_, seen: tuple[Tensor]) -> None:
                sums[k] += torch.stack([seen[0].mean((0, 2, 3)), (seen[0] ** 2).mean((0, 2, 3))])

            return look

        hooks = [norm.register_forward_pre_hook(counted(k)) for k, norm in enumerate(norms)]
        for darkness, _ in crops:
            network(darkness)
        for hook in hooks:
            hook.remove()
        for norm, total in zip(norms, sums, strict=True):
            mean, square = total / len(crops)
            norm.running_mean.copy_(mean)
            norm.running_var.copy_((square - mean**2).clamp(min=1e-4))
            norm.weight.copy_((norm.running_var + norm.eps).sqrt())
            norm.bias.add_(mean)
    network.train()


class Scanner:
    """Takes crops of pages as a scanner and a copier would give them, on the device."""

    def __init__(self, seed: int, device: str) -> None:
        self.rng = np.random.default_rng(seed)
        self.device = device
        self.squares: dict[int, Tensor] = {}
        k = torch.arange(8, dtype=torch.float32)
        dct = torch.cos((2 * k[None, :] + 1) * k[:, None] * math.pi / 16) * 0.5
        dct[0] /= math.sqrt(2)
        self.dct = dct.to(device)
        # the luminance table of ITU-T T.81, annex K
        table = [16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
                 14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92,
                 49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99]  # fmt: skip
        self.table = torch.tensor(table, dtype=torch.float32, device=device).reshape(8, 8)

    def crops(self, pages: Sequence[Held], *, worn: bool = True) -> tuple[Tensor, Tensor]:
        """Return darkness N × 1 × CROP × CROP of pages of like resolution, and the chances that it should give.

        Taking several together costs little more than one: it is the starting of small steps that takes the time.
        """
        count = pages[0].count
        taken = [self._taken(page, count) for page in pages]
        ink = torch.stack([t[0] for t in taken])
        cover = torch.stack([t[1] for t in taken])
        seen = self._worn(ink) if worn else ink
        seen = functional.interpolate(seen, (CROP, CROP), mode="bilinear", antialias=True, align_corners=False)
        nothing = (1 - cover.sum(1, keepdim=True)).clamp(0, 1)
        target = torch.cat([nothing, cover], 1)
        return seen, target / target.sum(1, keepdim=True)

    def _taken(self, page: Held, count: int) -> tuple[Tensor, Tensor]:
        """Cut a turned, stretched and bent square out of a page: its ink at ``count`` pixels, and the true cover."""
        rng = self.rng
        turn = rng.integers(0, 4) * math.pi / 2 + math.radians(
            rng.normal(0, 0.7) if rng.random() < 0.8 else rng.uniform(-45, 45)
        )
        flip = rng.choice([-1.0, 1.0])
        scale = np.exp(rng.normal(0, 0.02) if rng.random() < 0.75 else rng.uniform(-0.1, 0.3))
        stretch = np.exp(rng.normal(0, 0.004))
        c, s = math.cos(turn), math.sin(turn)
        low = rng.uniform(0.05, 0.95, 2)
        # the middle of the crop and its two axes, in shares of the page from -1 to 1
        wide, high = page.size_m
        axes = np.array([[c * scale * stretch * flip, -s * scale], [s * scale * stretch * flip, c * scale]]) * np.array(
            [[2 / wide], [2 / high]]
        )
        bend = rng.uniform(-0.06, 0.06) if rng.random() < 0.15 else 0.0
        theta = np.column_stack([axes, 2 * low - 1, axes[:, 0] * bend])
        matrix = torch.tensor(theta, dtype=torch.float32, device=self.device)
        both = []
        for source, size in ((page.ink, count), (page.cover, CROP)):
            grid = self._square(size) @ matrix.T
            both.append(functional.grid_sample(source[None].float(), grid[None], align_corners=False)[0] / 255)
        return both[0], both[1]

    def _square(self, count: int) -> Tensor:
        """Return x, y, 1 and y² in metres for each pixel of a crop, H × W × 4, kept from call to call."""
        if count not in self.squares:
            step = CROP * M_PER_PX / count
            line = (torch.arange(count, device=self.device, dtype=torch.float32) + 0.5 - count / 2) * step
            x, y = torch.meshgrid(line, line, indexing="xy")
            self.squares[count] = torch.stack([x, y, torch.ones_like(x), y * y], -1)
        return self.squares[count]

    def _some(self, count: int, share: float) -> Tensor | None:
        """Return which of a number of crops are chosen, each with a chance; nothing where none is."""
        chosen = np.flatnonzero(self.rng.random(count) < share)
        return torch.from_numpy(chosen).to(self.device) if len(chosen) else None

    def _of(self, low: float, high: float, count: int) -> Tensor:
        """Return evenly drawn numbers, one for each crop: N × 1 × 1 × 1."""
        drawn = torch.from_numpy(self.rng.uniform(low, high, count).astype(np.float32))
        return drawn.to(self.device)[:, None, None, None]

    def _worn(self, ink: Tensor) -> Tensor:
        """Print and scan crops, N × 1 × H × W of ink, each in a way of its own."""
        n, x = len(ink), ink
        if (i := self._some(n, 0.1)) is not None:  # toner that spreads
            x[i] = torch.lerp(x[i], functional.max_pool2d(x[i], 3, 1, 1), self._of(0.3, 1.0, len(i)))
        if (i := self._some(n, 0.9)) is not None:
            x[i] = _blurred(x[i], self._of(0.3, 1.4, len(i)), 1.4)
        if (i := self._some(n, 0.12)) is not None:  # toner that is thin in places, or missing
            thin = (self._clouds(x[i], 3, 12) > self._of(0.4, 0.8, len(i))).float()
            x[i] = x[i] * (1 - self._of(0.2, 0.7, len(i)) * thin)
        if (i := self._some(n, 0.12)) is not None:
            x[i] = x[i] * (torch.rand_like(x[i]) > self._of(0.0, 0.03, len(i)) ** 1.5).float()
        paper, black = self._of(0.78, 1.0, n), self._of(0.0, 0.3, n)
        if (i := self._some(n, 0.3)) is not None:
            x[i] = x[i].clamp(min=0) ** self._of(0.6, 1.7, len(i))
        grey = self._scanned(paper - x * (paper - black * paper), paper)
        if (i := self._some(n, 0.3)) is not None:  # black and white alone: bare, ragged as copies of copies, or in dots
            level = paper[i] * self._of(0.55, 0.8, len(i))
            way = self.rng.choice(["bare", "bare", "ragged", "dots", "grain"])
            if way == "ragged":
                level = level + self._of(0.05, 0.3, len(i)) * _blurred(
                    torch.randn_like(grey[i]), self._of(0.5, 1.2, len(i)), 1.2
                )
            elif way == "dots":
                level = paper[i] * (0.5 + 0.42 * self._screen(grey.shape[2], grey.shape[3]))
            elif way == "grain":
                level = level + self._of(0.1, 0.3, len(i)) * torch.randn_like(grey[i])
            grey[i] = (grey[i] > level).float()
            paper[i] = 1.0
        if (i := self._some(n, 0.5)) is not None:
            grey[i] = self._packed(grey[i].clamp(0, 1), self._of(30, 95, len(i)))
        grey = torch.round(grey.clamp(0, 1) * 255) / 255
        return (1 - grey / (paper * self._of(0.96, 1.02, n))).clamp(-0.05, 1)

    def _scanned(self, grey: Tensor, paper: Tensor) -> Tensor:
        """Let the glass, the drum and the lamp of a scanner leave their marks."""
        rng, n = self.rng, len(grey)
        height, width = grey.shape[2:]
        if (i := self._some(n, 0.12)) is not None:  # blotches of the glass
            grey[i] = grey[i] * (1 - self._of(0.05, 0.4, len(i)) * (self._clouds(grey[i], 4, 24) > 0.8).float())
        for k in np.flatnonzero(rng.random(n) < 0.1).tolist():  # streaks of the drum
            for _ in range(rng.integers(1, 5)):
                at, thick = rng.integers(0, height - 4), rng.integers(1, 4)
                part = grey[k, :, :, at : at + thick] if rng.random() < 0.7 else grey[k, :, at : at + thick, :]
                part *= 1 - rng.uniform(0.1, 0.8)
        if (i := self._some(n, 0.2)) is not None:  # sharpened by the scanner
            soft = _blurred(grey[i], self._of(0.8, 2.0, len(i)), 2.0)
            grey[i] = grey[i] + self._of(0.3, 1.5, len(i)) * (grey[i] - soft)
        if (i := self._some(n, 0.12)) is not None:  # stored smaller, and made larger again
            size = (int(height * rng.uniform(0.5, 0.9)),) * 2
            small = functional.interpolate(grey[i], size, mode="bilinear", antialias=True, align_corners=False)
            if rng.random() < 0.5:
                small = self._packed(small.clamp(0, 1), self._of(35, 80, len(i)))
            grey[i] = functional.interpolate(small, (height, width), mode="bilinear", align_corners=False)
        if (i := self._some(n, 0.4)) is not None:
            ramp = torch.linspace(0, 1, width, device=self.device)[None, None, None, :]
            ramp = ramp if rng.random() < 0.5 else ramp.transpose(2, 3)
            grey[i] = grey[i] * (1 - self._of(0, 0.15, len(i)) * (ramp if rng.random() < 0.5 else 1 - ramp))
        grey = grey + torch.randn_like(grey) * self._of(-0.02, 0.05, n).clamp(min=0)
        if (i := self._some(n, 0.6)) is not None:
            specks = (torch.rand_like(grey[i]) < rng.choice([2e-5, 1e-4, 4e-4])).float()
            if rng.random() < 0.7:
                specks = functional.max_pool2d(specks, 3, 1, 1)
            grey[i] = grey[i] * (1 - specks * self._of(0.3, 0.9, len(i)))
        return grey

    def _screen(self, height: int, width: int) -> Tensor:
        """Return a printer's screen of dots, -1 to 1: H × W."""
        pitch, turn = self.rng.uniform(2.2, 6.0), self.rng.uniform(0, math.pi / 2)
        y = torch.arange(height, device=self.device)[:, None] * (2 * math.pi / pitch)
        x = torch.arange(width, device=self.device)[None, :] * (2 * math.pi / pitch)
        c, s = math.cos(turn), math.sin(turn)
        return 0.5 * (torch.cos(c * x + s * y) + torch.cos(c * y - s * x))

    def _clouds(self, like: Tensor, fewest: int, most: int) -> Tensor:
        """Return pictures of soft noise, 0 to 1."""
        cells = int(self.rng.integers(fewest, most))
        noise = torch.rand(len(like), 1, cells, cells, device=self.device)
        return functional.interpolate(noise, like.shape[2:], mode="bicubic", align_corners=False)

    def _packed(self, grey: Tensor, quality: Tensor) -> Tensor:
        """Lose what JPEG loses, at a quality for each picture."""
        scale = torch.where(quality < 50, 50 / quality, 2 - quality / 50)[..., None, None]
        table = (self.table * scale).clamp(1, 255)
        height, width = grey.shape[2:]
        padded = functional.pad(grey, (0, -width % 8, 0, -height % 8), mode="replicate")
        h, w = padded.shape[2:]
        blocks = (padded * 255 - 128).reshape(-1, 1, h // 8, 8, w // 8, 8).transpose(3, 4)
        parts = self.dct @ blocks @ self.dct.T
        parts = torch.round(parts / table) * table
        back = (self.dct.T @ parts @ self.dct).transpose(3, 4).reshape(-1, 1, h, w)
        return ((back + 128) / 255)[:, :, :height, :width]


def _blurred(x: Tensor, sigma: Tensor, most: float) -> Tensor:
    """Blur by sums of shifted pictures, each by its own sigma (N × 1 × 1 × 1, pixels), none over ``most``."""
    reach = max(1, math.ceil(2.5 * most))
    steps = range(-reach, reach + 1)
    weights = torch.stack([torch.exp(-0.5 * (k / sigma) ** 2) for k in steps])
    weights = weights / weights.sum(0)
    for _ in range(2):  # along the last direction, then along the other
        wide = functional.pad(x, (reach, reach, 0, 0), mode="replicate")
        x = sum(wide[..., k : k + x.shape[3]] * weights[k] for k in range(len(steps))).transpose(2, 3)
    return x


class Held:
    """A page on the device."""

    def __init__(self, page: Page, device: str) -> None:
        self.ink = torch.from_numpy(255 - page.pixels)[None].to(device)
        self.cover = torch.from_numpy(page.cover).to(device)
        self.m_per_px = page.m_per_px
        self.size_m = (page.pixels.shape[1] * page.m_per_px, page.pixels.shape[0] * page.m_per_px)
        self.count = RESOLUTIONS[
            int(np.argmin(np.abs(np.log(RESOLUTIONS) - math.log(CROP * M_PER_PX / page.m_per_px))))
        ]


class Pool:
    """Crops that were scanned lately: each is learnt from several times.

    Scanning a crop takes longer than learning from it. Each time it is turned or mirrored anew.
    """

    def __init__(self, most: int) -> None:
        self.most = most
        self.kept: list[tuple[Tensor, Tensor]] = []

    def add(self, x: Tensor, y: Tensor, rng: np.random.Generator) -> None:
        """Keep crops, N × 1 × H × W and N × 6 × H × W, in half the memory or less."""
        for one, target in zip(x.half(), (y * 255).round().byte(), strict=True):
            if len(self.kept) < self.most:
                self.kept.append((one, target))
            else:
                self.kept[int(rng.integers(self.most))] = (one, target)

    def some(self, count: int, rng: np.random.Generator) -> tuple[Tensor, Tensor]:
        """Return some of them, each in one of its eight poses."""
        xs, ys = [], []
        for i in rng.integers(0, len(self.kept), count).tolist():
            turn, is_flipped = int(rng.integers(4)), rng.random() < 0.5
            for values, out in zip(self.kept[i], (xs, ys), strict=True):
                posed = torch.rot90(values, turn, (1, 2))
                out.append(posed.flip(2) if is_flipped else posed)
        return torch.stack(xs).float(), torch.stack(ys).float() / 255


def loss_of(scores: Tensor, target: Tensor) -> Tensor:
    """Return the cross entropy, openings weighing more, plus the lack of overlap of each class."""
    weight = torch.tensor([1.0, 1.0, 2.5, 3.0, 2.0, 3.0], device=scores.device)[None, :, None, None]
    entropy = -(weight * target * functional.log_softmax(scores, 1)).sum(1).mean()
    chances = torch.softmax(scores, 1)
    both = (chances * target).sum((0, 2, 3))
    overlap = (2 * both + 1) / ((chances**2).sum((0, 2, 3)) + (target**2).sum((0, 2, 3)) + 1)
    return entropy + 0.3 * (1 - overlap[1:]).mean()


@torch.no_grad()
def judged(network: nn.Module, crops: list[tuple[Tensor, Tensor]], device: str) -> tuple[str, float]:
    """Return the overlap (intersection over union) of each class over crops never trained on, in words; their mean."""
    network.eval()
    count = len(CLASSES) + 1
    both, either = torch.zeros(count), torch.zeros(count)
    for i in range(0, len(crops), 16):
        x = torch.cat([c[0] for c in crops[i : i + 16]])
        y = torch.cat([c[1] for c in crops[i : i + 16]])
        with torch.autocast(device, torch.bfloat16, enabled=device == "cuda"):
            chosen = network(x).argmax(1)
        true = y.argmax(1)
        for k in range(count):
            both[k] += ((chosen == k) & (true == k)).sum().cpu()
            either[k] += ((chosen == k) | (true == k)).sum().cpu()
    network.train()
    shares = (both / either.clamp(min=1)).tolist()
    return " ".join(f"{n} {v:.3f}" for n, v in zip(("nothing", *CLASSES), shares, strict=True)), sum(shares) / count


def hone(network: WallNetwork, crops: list[tuple[Tensor, Tensor]]) -> None:
    """Make the network as sure as it is right on crops never trained on: by a factor for all scores, a shift for each.

    The loss makes openings weigh more than they are frequent, which this takes back. Fitted by the least cross entropy
    (temperature scaling, Guo et al. 2017, with a bias), and worked into the last layer.
    """
    network.eval()
    with torch.no_grad():
        scores = torch.cat([network(x).float().movedim(1, -1).flatten(0, -2)[::13] for x, _ in crops])
        truth = torch.cat([y.movedim(1, -1).flatten(0, -2)[::13] for _, y in crops])
    factor = torch.ones(1, device=scores.device, requires_grad=True)
    shift = torch.zeros(scores.shape[1], device=scores.device, requires_grad=True)
    fit = torch.optim.LBFGS([factor, shift], max_iter=60, line_search_fn="strong_wolfe")
    losses: list[float] = []

    def lack() -> Tensor:
        fit.zero_grad()
        loss = -(truth * functional.log_softmax(factor * scores + shift, 1)).sum(1).mean()
        loss.backward()
        losses.append(loss.item())
        return loss

    fit.step(lack)
    with torch.no_grad():
        network.head.weight.mul_(factor)
        network.head.bias.mul_(factor).add_(shift)
    said = " ".join(f"{v:.3f}" for v in shift.tolist())
    print(f"cross entropy {losses[0]:.4f} to {losses[-1]:.4f}: factor {factor.item():.3f}, shifts {said}", flush=True)


def like_pages(held: Sequence[Held], rng: np.random.Generator) -> list[Held]:
    """Choose pages of one resolution, that of a page chosen among all."""
    count = held[int(rng.integers(len(held)))].count
    like = [page for page in held if page.count == count]
    return [like[i] for i in rng.integers(0, len(like), TOGETHER).tolist()]


def draw_pages(first: int, step: int, pages: multiprocessing.Queue) -> None:
    """Draw pages without end; waits while enough are drawn."""
    cv2.setNumThreads(1)  # there is one of these for each core
    seed = first
    while True:
        pages.put(some_page(seed))
        seed += step


def some_page(seed: int) -> Page:
    """Draw a page; one of another seed where the shapes of this one fall apart, which is told."""
    for other in range(seed, seed + 10**9, 10**8):
        try:
            return make_page(other)
        except (ValueError, shapely.errors.GEOSException) as e:
            print(f"page {other}: {e!r}", flush=True)
    raise ValueError(seed)


def fetch(drawn: multiprocessing.Queue, ready: queue.Queue, device: str) -> None:
    """Take in drawn pages without end, so that training need not wait for them."""
    if device.startswith("cuda"):
        torch.cuda.set_device(device)
    while True:
        ready.put(Held(drawn.get(), device))


def keep(network: nn.Module, optimiser: torch.optim.Optimizer, file: Path) -> None:
    """Write what the next run needs in half the room: weights, and the mean squares of their slopes."""
    weights = {k: v.half() if v.dim() > 1 else v for k, v in network.state_dict().items()}
    squares = [optimiser.state[p]["exp_avg_sq"].bfloat16() for p in network.parameters() if p in optimiser.state]
    torch.save({"weights": weights, "squares": squares}, file)


def resumed(network: nn.Module, optimiser: torch.optim.Optimizer, kept: dict) -> None:
    """Give the optimiser the mean squares that the run before has seen."""
    for p, square in zip(network.parameters(), kept["squares"], strict=True):
        optimiser.state[p] = {
            "step": torch.tensor(1000.0),
            "exp_avg": torch.zeros_like(p, memory_format=torch.preserve_format),
            "exp_avg_sq": torch.empty_like(p, memory_format=torch.preserve_format).copy_(square),
        }


def write(network: nn.Module, out: Path) -> None:
    """Write the weights, and the network as it is shipped."""
    final = WallNetwork()
    final.load_state_dict({name: value.detach().cpu() for name, value in network.state_dict().items()})
    torch.save(final.state_dict(), out / "walls.pt")
    torch.onnx.export(
        Chances(final).eval(),
        (torch.zeros(1, 1, CROP, CROP),),
        out / "walls.onnx",
        input_names=["darkness"],
        output_names=["chances"],
        opset_version=13,
        dynamo=False,
    )


def train(rank: int, count: int, wanted: argparse.Namespace) -> None:
    """Train on one of several devices; the first one reports and writes."""
    begin = time.monotonic()
    is_first = rank == 0
    device = f"cuda:{rank}" if wanted.device == "cuda" else wanted.device
    if wanted.device == "cuda":
        torch.cuda.set_device(rank)
    os.environ.update(MASTER_ADDR="127.0.0.1", MASTER_PORT=str(wanted.port))
    backend = "cpu:gloo,cuda:nccl" if wanted.device == "cuda" else "gloo"
    distributed.init_process_group(backend, rank=rank, world_size=count)
    torch.manual_seed(wanted.seed)
    spawned = multiprocessing.get_context("spawn")
    drawn: multiprocessing.Queue = spawned.Queue(maxsize=32)
    first, stride = 1_000_000 * wanted.seed + rank * wanted.workers, wanted.workers * count
    workers = [
        spawned.Process(target=draw_pages, args=(first + i, stride, drawn), daemon=True) for i in range(wanted.workers)
    ]
    for worker in workers:
        worker.start()
    judge = Scanner(1, device)
    with spawned.Pool(wanted.workers) as pool:
        kept = pool.map(some_page, range(JUDGED_FROM, JUDGED_FROM + 2 * wanted.proof), chunksize=1)
    crops = [judge.crops([Held(page, device)]) for page in kept]
    proof, honing = crops[: wanted.proof], crops[wanted.proof :]
    network, state = WallNetwork().to(device), None
    if wanted.start and wanted.start.suffix == ".onnx":
        recalled(network, wanted.start, proof)
    elif wanted.start:
        loaded = torch.load(wanted.start, map_location=device)
        state = loaded if "squares" in loaded else None
        network.load_state_dict(state["weights"] if state else loaded)
    network = network.to(memory_format=torch.channels_last)
    if is_first:
        print(f"{sum(p.numel() for p in network.parameters()):,} weights on {count} devices", flush=True)
        print(f"{time.monotonic() - begin:.0f} s: at first {judged(network, proof, wanted.device)[0]}", flush=True)
    mean = torch.optim.swa_utils.AveragedModel(
        network, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True
    )
    learner = DistributedDataParallel(network, device_ids=[rank] if wanted.device == "cuda" else None)
    held = [Held(drawn.get(), device) for _ in range(wanted.held // 6)]
    ready: queue.Queue = queue.Queue(maxsize=4)
    threading.Thread(target=fetch, args=(drawn, ready, device), daemon=True).start()
    distributed.barrier()
    scanner, pool = Scanner(wanted.seed + 2 + 1000 * rank, device), Pool(wanted.pool)
    optimiser = torch.optim.AdamW(network.parameters(), lr=wanted.rate, weight_decay=1e-3)
    if state:
        resumed(network, optimiser, state)
    first_share, last_share = wanted.shares
    step, pages, next_report = 0, len(held), 0.0
    started = time.monotonic()
    rate = torch.zeros(1, dtype=torch.float64)
    while True:
        spent = time.monotonic() - begin
        share = (time.monotonic() - started) / (wanted.seconds - (started - begin))
        share = first_share + (last_share - first_share) * share
        rate[0] = (
            wanted.rate
            * min(1.0, (step + 1) / (50 if state else 300))
            * (0.5 * (1 + math.cos(math.pi * min(share, 1.0))) + 0.005)
        )
        if spent > wanted.seconds:
            rate[0] = 0.0
        distributed.broadcast(rate, 0)  # the first one's clock holds for all
        if not rate.item():
            break
        for group in optimiser.param_groups:
            group["lr"] = rate.item()
        marks = [time.monotonic()]
        for _ in range(PAGES_A_STEP):
            try:
                page = ready.get_nowait()
                pages += 1
                if len(held) < wanted.held:
                    held.append(page)
                else:
                    held[int(scanner.rng.integers(len(held)))] = page
            except queue.Empty:
                break
        marks.append(time.monotonic())
        if step % SCANNED_EVERY == 0:
            pool.add(*scanner.crops(like_pages(held, scanner.rng)), scanner.rng)
        x, y = pool.some(wanted.batch, scanner.rng)
        x = x.to(memory_format=torch.channels_last)
        marks.append(time.monotonic())
        with torch.autocast(wanted.device, torch.bfloat16, enabled=wanted.device == "cuda"):
            scores = learner(x)
        loss = loss_of(scores.float(), y)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        # the first weights are worth nothing: the mean begins anew after them
        if step >= 300:
            mean.update_parameters(network)
        step += 1
        if is_first and spent > next_report:
            loss.item()  # waits for the device
            marks.append(time.monotonic())
            parts = " + ".join(f"{1000 * (b - a):.0f}" for a, b in pairwise(marks))
            said = f"ms {parts}; {judged(network, proof, wanted.device)[0]}"
            print(f"{spent:.0f} s, step {step}, {pages} pages, loss {loss.item():.4f}; {said}", flush=True)
            keep(network, optimiser, wanted.out / "state.pt")
            next_report = spent + 30
    for worker in workers:
        worker.kill()
    total = torch.tensor([pages])
    distributed.all_reduce(total)
    if is_first:
        best = judged(mean, proof, wanted.device), judged(network, proof, wanted.device)
        print(f"{step} steps, {total.item()} pages; mean: {best[0]}; last: {best[1]}", flush=True)
        keep(network, optimiser, wanted.out / "state.pt")
        final = mean.module if step >= 600 else network
        hone(final, honing)
        write(final, wanted.out)
        print(f"{time.monotonic() - begin:.0f} s: written; {judged(final, proof, wanted.device)[0]}", flush=True)
    distributed.destroy_process_group()


def main() -> None:
    """Train and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=480)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--from", dest="start", type=Path, help="weights to learn on from")
    parser.add_argument("--shares", type=float, nargs=2, default=(0.0, 1.0), help="of the whole, that this run covers")
    parser.add_argument("--pool", type=int, default=3000, help="scanned crops that are kept, for each device")
    parser.add_argument("--workers", type=int, default=14, help="processes that draw pages, for each device")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--batch", type=int, default=48, help="crops a step, for each device")
    parser.add_argument("--held", type=int, default=1000, help="pages in use at a time, for each device")
    parser.add_argument("--proof", type=int, default=32, help="crops to judge by")
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--device", default="cuda")
    parser.add_argument("--port", type=int, default=29511, help="where the devices' processes meet on this machine")
    wanted = parser.parse_args()
    wanted.out.mkdir(parents=True, exist_ok=True)
    count = torch.cuda.device_count() if wanted.device == "cuda" else 1
    torch.multiprocessing.spawn(train, args=(count, wanted), nprocs=count)


if __name__ == "__main__":
    main()
