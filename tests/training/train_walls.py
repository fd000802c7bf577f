"""Train the network that tells walls, doors and windows on a scan, and write it as ONNX.

Usage: python -m tests.training.train_walls --seconds 480 --out FOLDER [--from walls.pt] [--workers 14]
It needs PyTorch with a CUDA device, PyMuPDF, shapely and onnx; nothing else of the project but `tests.trace`'s and this
folder's drawing. Pages are drawn while it trains, each used for a while and then replaced; the scanner's part (turning,
stretch, blur, noise, dirt, packing, thresholding) is done on the device, anew for every crop.
"""

from __future__ import annotations

import argparse
import math
import multiprocessing
import queue
import time
from itertools import pairwise
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional

from tests.training.pages import CLASSES, M_PER_PX, Page, make_page

CROP = 512
WIDTHS = (32, 64, 96, 128, 160)
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
    """An encoder and decoder with links between them (U-Net): darkness 1 × H × W to chances 5 × H × W; H, W mod 32 = 0.

    The first class is nothing, then `CLASSES`.
    """

    def __init__(self) -> None:
        super().__init__()
        self.stem = nn.Sequential(nn.Conv2d(1, WIDTHS[0], 4, stride=2, padding=1), nn.ReLU(inplace=True))
        self.down = nn.ModuleList([block(WIDTHS[max(i - 1, 0)], w) for i, w in enumerate(WIDTHS)])
        self.wide = nn.ModuleList([block(WIDTHS[-1], WIDTHS[-1], dilation=d) for d in (2, 3)])
        self.lift = nn.ModuleList(
            [nn.ConvTranspose2d(WIDTHS[i + 1], WIDTHS[i], 2, stride=2) for i in reversed(range(len(WIDTHS) - 1))]
        )
        self.up = nn.ModuleList([block(2 * WIDTHS[i], WIDTHS[i]) for i in reversed(range(len(WIDTHS) - 1))])
        self.head = nn.ConvTranspose2d(WIDTHS[0], len(CLASSES) + 1, 2, stride=2)

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


class Scanner:
    """Takes crops of pages as a scanner and a copier would give them, on the device."""

    def __init__(self, seed: int, device: str) -> None:
        self.rng = np.random.default_rng(seed)
        self.device = device
        k = torch.arange(8, dtype=torch.float32)
        dct = torch.cos((2 * k[None, :] + 1) * k[:, None] * math.pi / 16) * 0.5
        dct[0] /= math.sqrt(2)
        self.dct = dct.to(device)
        # the luminance table of ITU-T T.81, annex K
        table = [16, 11, 10, 16, 24, 40, 51, 61, 12, 12, 14, 19, 26, 58, 60, 55, 14, 13, 16, 24, 40, 57, 69, 56,
                 14, 17, 22, 29, 51, 87, 80, 62, 18, 22, 37, 56, 68, 109, 103, 77, 24, 35, 55, 64, 81, 104, 113, 92,
                 49, 64, 78, 87, 103, 121, 120, 101, 72, 92, 95, 98, 112, 100, 103, 99]  # fmt: skip
        self.table = torch.tensor(table, dtype=torch.float32, device=device).reshape(8, 8)

    def crop(self, page: Held, *, worn: bool = True) -> tuple[Tensor, Tensor]:
        """Return darkness 1 × CROP × CROP and the chances that it should give, 5 × CROP × CROP."""
        rng = self.rng
        turn = rng.integers(0, 4) * math.pi / 2 + math.radians(
            rng.normal(0, 0.7) if rng.random() < 0.8 else rng.uniform(-45, 45)
        )
        flip = rng.choice([-1.0, 1.0])
        scale = np.exp(rng.normal(0, 0.02))
        stretch = np.exp(rng.normal(0, 0.004))
        c, s = math.cos(turn), math.sin(turn)
        matrix = torch.tensor(
            [[c * scale * stretch * flip, -s * scale], [s * scale * stretch * flip, c * scale]],
            dtype=torch.float32,
            device=self.device,
        )
        size = page.size_m
        at = torch.tensor(
            [rng.uniform(0.05, 0.95) * size[0], rng.uniform(0.05, 0.95) * size[1]],
            dtype=torch.float32,
            device=self.device,
        )
        bend = rng.uniform(-0.06, 0.06) if rng.random() < 0.15 else 0.0

        def sampled(source: Tensor, m_per_px: float, count: int) -> Tensor:
            step = CROP * M_PER_PX / count
            line = (torch.arange(count, device=self.device, dtype=torch.float32) + 0.5 - count / 2) * step
            x, y = torch.meshgrid(line, line, indexing="xy")
            x = x + bend * y * y
            where = torch.stack([x, y], -1) @ matrix.T + at
            grid = 2 * where / (m_per_px * torch.tensor(source.shape[:0:-1], device=self.device)) - 1
            return functional.grid_sample(source[None].float(), grid[None], align_corners=False, padding_mode="zeros")[
                0
            ]

        count = 64 * max(4, round(CROP * M_PER_PX / page.m_per_px / 64))
        ink = sampled(page.ink, page.m_per_px, count)[0] / 255
        cover = sampled(page.cover, M_PER_PX, CROP) / 255
        seen = self._worn(ink) if worn else ink
        seen = functional.interpolate(
            seen[None, None], (CROP, CROP), mode="bilinear", antialias=True, align_corners=False
        )[0]
        nothing = (1 - cover.sum(0, keepdim=True)).clamp(0, 1)
        target = torch.cat([nothing, cover])
        return seen, target / target.sum(0, keepdim=True)

    def _worn(self, ink: Tensor) -> Tensor:
        rng = self.rng
        x = ink[None, None]
        if rng.random() < 0.1:  # toner that spreads
            x = torch.lerp(x, functional.max_pool2d(x, 3, 1, 1), rng.uniform(0.3, 1.0))
        x = _blurred(x, rng.uniform(0.3, 1.4)) if rng.random() < 0.9 else x
        paper, black = rng.uniform(0.78, 1.0), rng.uniform(0.0, 0.3)
        grey = paper - x * (paper - black * paper)
        height, width = x.shape[2:]
        if rng.random() < 0.4:
            ramp = torch.linspace(0, 1, width, device=self.device)[None, None, None, :]
            if rng.random() < 0.5:
                ramp = torch.linspace(0, 1, height, device=self.device)[None, None, :, None]
            grey = grey * (1 - rng.uniform(0, 0.15) * (ramp if rng.random() < 0.5 else 1 - ramp))
        noise = rng.choice([0.0, 0.01, 0.02, 0.04, 0.06])
        if noise:
            grey = grey + torch.randn_like(grey) * noise
        if rng.random() < 0.6:
            share = rng.choice([2e-5, 1e-4, 4e-4])
            specks = (torch.rand_like(grey) < share).float()
            if rng.random() < 0.7:
                specks = functional.max_pool2d(specks, 3, 1, 1)
            grey = grey * (1 - specks * rng.uniform(0.3, 0.9))
        if rng.random() < 0.2:
            level = paper * rng.uniform(0.55, 0.8)
            grey = (grey > level).float()
            paper = 1.0
        elif rng.random() < 0.6:
            grey = self._packed(grey.clamp(0, 1), rng.uniform(35, 95))
        grey = torch.round(grey.clamp(0, 1) * 255) / 255
        return (1 - grey / (paper * rng.uniform(0.96, 1.02))).clamp(-0.05, 1)[0, 0]

    def _packed(self, grey: Tensor, quality: float) -> Tensor:
        """Lose what JPEG loses."""
        scale = 50 / quality if quality < 50 else 2 - quality / 50
        table = (self.table * scale).clamp(1, 255)
        height, width = grey.shape[2:]
        padded = functional.pad(grey, (0, -width % 8, 0, -height % 8), mode="replicate")
        h, w = padded.shape[2:]
        blocks = (padded * 255 - 128).reshape(h // 8, 8, w // 8, 8).permute(0, 2, 1, 3)
        parts = self.dct @ blocks @ self.dct.T
        parts = torch.round(parts / table) * table
        back = (self.dct.T @ parts @ self.dct).permute(0, 2, 1, 3).reshape(1, 1, h, w)
        return ((back + 128) / 255)[:, :, :height, :width]


def _blurred(x: Tensor, sigma: float) -> Tensor:
    """Blur by sums of shifted pictures: a library's convolution would be prepared anew for each size."""
    reach = max(1, math.ceil(2.5 * sigma))
    weights = [math.exp(-0.5 * (k / sigma) ** 2) for k in range(-reach, reach + 1)]
    total = sum(weights)
    height, width = x.shape[2:]
    wide = functional.pad(x, (reach, reach, 0, 0), mode="replicate")
    x = sum(wide[..., k : k + width] * (w / total) for k, w in enumerate(weights))
    high = functional.pad(x, (0, 0, reach, reach), mode="replicate")
    return sum(high[..., k : k + height, :] * (w / total) for k, w in enumerate(weights))


class Held:
    """A page on the device."""

    def __init__(self, page: Page, device: str) -> None:
        self.ink = torch.from_numpy(255 - page.pixels)[None].to(device)
        self.cover = torch.from_numpy(page.cover).to(device)
        self.m_per_px = page.m_per_px
        self.size_m = (page.pixels.shape[1] * page.m_per_px, page.pixels.shape[0] * page.m_per_px)


def loss_of(scores: Tensor, target: Tensor) -> Tensor:
    """Return the cross entropy, openings weighing more, plus the lack of overlap of each class."""
    weight = torch.tensor([1.0, 1.0, 2.5, 3.0, 2.0], device=scores.device)[None, :, None, None]
    entropy = -(weight * target * functional.log_softmax(scores, 1)).sum(1).mean()
    chances = torch.softmax(scores, 1)
    both = (chances * target).sum((0, 2, 3))
    overlap = (2 * both + 1) / ((chances**2).sum((0, 2, 3)) + (target**2).sum((0, 2, 3)) + 1)
    return entropy + 0.3 * (1 - overlap[1:]).mean()


@torch.no_grad()
def judged(network: nn.Module, crops: list[tuple[Tensor, Tensor]], device: str) -> tuple[str, float]:
    """Return the overlap (intersection over union) of each class over crops never trained on, in words; their mean."""
    network.eval()
    both, either = torch.zeros(5), torch.zeros(5)
    for i in range(0, len(crops), 16):
        x = torch.stack([c[0] for c in crops[i : i + 16]])
        y = torch.stack([c[1] for c in crops[i : i + 16]])
        with torch.autocast(device, torch.bfloat16):
            chosen = network(x).argmax(1)
        true = y.argmax(1)
        for k in range(5):
            both[k] += ((chosen == k) & (true == k)).sum().cpu()
            either[k] += ((chosen == k) | (true == k)).sum().cpu()
    network.train()
    shares = (both / either.clamp(min=1)).tolist()
    return " ".join(f"{n} {v:.3f}" for n, v in zip(("nothing", *CLASSES), shares, strict=True)), sum(shares) / 5


def draw_pages(first: int, step: int, pages: multiprocessing.Queue) -> None:
    """Draw pages without end; waits while enough are drawn."""
    seed = first
    while True:
        pages.put(make_page(seed))
        seed += step


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


def main() -> None:
    """Train and write."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seconds", type=float, default=480)
    parser.add_argument("--out", type=Path, required=True)
    parser.add_argument("--from", dest="start", type=Path)
    parser.add_argument("--workers", type=int, default=14)
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--batch", type=int, default=16)
    parser.add_argument("--held", type=int, default=1000, help="pages in use at a time")
    parser.add_argument("--proof", type=int, default=32, help="crops to judge by")
    parser.add_argument("--rate", type=float, default=2e-3)
    parser.add_argument("--device", default="cuda")
    wanted = parser.parse_args()
    begin = time.monotonic()
    wanted.out.mkdir(parents=True, exist_ok=True)
    torch.manual_seed(wanted.seed)
    device = wanted.device
    network = WallNetwork().to(device)
    if wanted.start:
        network.load_state_dict(torch.load(wanted.start, map_location=device))
    network = network.to(memory_format=torch.channels_last)
    mean = torch.optim.swa_utils.AveragedModel(
        network, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True
    )
    print(f"{sum(p.numel() for p in network.parameters()):,} parameters", flush=True)
    spawned = multiprocessing.get_context("spawn")
    drawn: multiprocessing.Queue = spawned.Queue(maxsize=32)
    first = 1_000_000 * wanted.seed
    workers = [
        spawned.Process(target=draw_pages, args=(first + i, wanted.workers, drawn), daemon=True)
        for i in range(wanted.workers)
    ]
    for worker in workers:
        worker.start()
    judge = Scanner(1, device)
    proof = [judge.crop(Held(make_page(JUDGED_FROM + i), device)) for i in range(wanted.proof)]
    print(f"{time.monotonic() - begin:.0f} s: pages to judge by are drawn", flush=True)
    held = [Held(drawn.get(), device) for _ in range(wanted.held // 6)]
    print(f"{time.monotonic() - begin:.0f} s: first pages are drawn", flush=True)
    scanner = Scanner(wanted.seed + 2, device)
    optimiser = torch.optim.AdamW(network.parameters(), lr=wanted.rate, weight_decay=1e-3)
    step, pages, next_report = 0, len(held), 0.0
    started = time.monotonic()
    while (spent := time.monotonic() - begin) < wanted.seconds:
        share = (time.monotonic() - started) / (wanted.seconds - (started - begin))
        rate = wanted.rate * min(1.0, (step + 1) / 300) * (0.5 * (1 + math.cos(math.pi * share)) + 0.005)
        for group in optimiser.param_groups:
            group["lr"] = rate
        marks = [time.monotonic()]
        if step % 4 == 0:
            try:
                fresh = Held(drawn.get_nowait(), device)
                pages += 1
                if len(held) < wanted.held:
                    held.append(fresh)
                else:
                    held[int(scanner.rng.integers(len(held)))] = fresh
            except queue.Empty:
                pass
        marks.append(time.monotonic())
        chosen = scanner.rng.integers(0, len(held), wanted.batch)
        crops = [scanner.crop(held[i]) for i in chosen.tolist()]
        x = torch.stack([c[0] for c in crops]).to(memory_format=torch.channels_last)
        y = torch.stack([c[1] for c in crops])
        marks.append(time.monotonic())
        with torch.autocast(device, torch.bfloat16):
            scores = network(x)
        loss = loss_of(scores.float(), y)
        optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(network.parameters(), 1.0)
        optimiser.step()
        # the first weights are worth nothing: the mean begins anew after them
        if step >= 300:
            mean.update_parameters(network)
        step += 1
        if spent > next_report:
            loss.item()  # waits for the device
            marks.append(time.monotonic())
            parts = " + ".join(f"{1000 * (b - a):.0f}" for a, b in pairwise(marks))
            said = f"ms {parts}; {judged(network, proof, device)[0]}"
            print(f"{spent:.0f} s, step {step}, {pages} pages, loss {loss.item():.4f}; {said}", flush=True)
            torch.save(network.state_dict(), wanted.out / "part.pt")
            next_report = spent + 30
    for worker in workers:
        worker.kill()
    print(
        f"{step} steps, {pages} pages; mean: {judged(mean, proof, device)}; last: {judged(network, proof, device)}",
        flush=True,
    )
    write(mean.module, wanted.out)


if __name__ == "__main__":
    main()
