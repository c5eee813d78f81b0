"""Trains the network on what scripts/learn/render.mjs wrote, and prints what each part of the training brings.

python3 scripts/learn/train.py DATA OUT SECONDS [run ...] [--from WEIGHTS] [--seed N]

Runs: six (the six kinds of scene alone), wider (all scenes), all (scenes and photographs), without-NAME (all but the photographs
whose name begins with NAME, or the scenes of that kind). Each run has an equal share of SECONDS. Photographs are told from scenes by their file's name; of them it is not known which
land is painted, nor how strongly, but of those named photo-unlit- that none is. --from begins with the weights of an earlier network.
"""

import argparse
import copy
import glob
import json
import os
import time
from concurrent.futures import ThreadPoolExecutor

import numpy as np
import torch
import torch.nn.functional as F

from model import CHANNELS, SkyNet, folded, reference, resume, write_weights

SIDE = 384
CANVASES = [(256, 384), (384, 256), (320, 320), (288, 384)]
BATCH = 40
SEED = 20261126
KEPT_EVERY_S = 60


def load(folder):
    files = sorted(glob.glob(os.path.join(folder, "*.bin")))
    names = [os.path.basename(f)[:-4] for f in files]
    looks = torch.zeros((len(files), CHANNELS, SIDE, SIDE), dtype=torch.int16)
    truth = torch.zeros((len(files), 5, SIDE, SIDE), dtype=torch.uint8)
    sizes = torch.zeros((len(files), 2), dtype=torch.float32)

    def read(n):
        raw = np.fromfile(files[n], dtype=np.uint8)
        w, h = np.frombuffer(raw[:8].tobytes(), dtype="<i4")
        cells = w * h
        look = np.frombuffer(raw[8 : 8 + cells * CHANNELS * 2].tobytes(), dtype="<i2").reshape(h, w, CHANNELS)
        rest = raw[8 + cells * CHANNELS * 2 :]
        looks[n, :, :h, :w] = torch.from_numpy(look.transpose(2, 0, 1).copy())
        truth[n, 0, :h, :w] = torch.from_numpy(rest[:cells].reshape(h, w).copy())
        truth[n, 1, :h, :w] = torch.from_numpy(rest[cells : 2 * cells].reshape(h, w).copy())
        truth[n, 2, :h, :w] = torch.from_numpy(rest[2 * cells : 3 * cells].reshape(h, w).copy())
        truth[n, 4, :h, :w] = torch.from_numpy(rest[3 * cells :].reshape(h, w).copy())
        # Where paint and sources are known.
        truth[n, 3, :h, :w] = 255 if not names[n].startswith("photo-") or names[n].startswith("photo-unlit-") else 0
        sizes[n] = torch.tensor([w, h])

    with ThreadPoolExecutor() as pool:
        list(pool.map(read, range(len(files))))
    return names, looks, truth, sizes


class Views:
    """Random views of the frames, as other frames might have been: cut, turned, lighter, flatter, of other colours."""

    def __init__(self, looks, truth, sizes, device):
        self.looks, self.truth, self.sizes, self.device = looks.to(device), truth.to(device), sizes.to(device), device
        self.random = torch.Generator(device=device).manual_seed(SEED)

    def uniform(self, low, high, *shape):
        return torch.rand(*shape, generator=self.random, device=self.device) * (high - low) + low

    def chance(self, p, *shape):
        return (torch.rand(*shape, generator=self.random, device=self.device) < p).float()

    def gauss(self, *shape):
        return torch.randn(*shape, generator=self.random, device=self.device)

    def draw(self, which, canvas):
        n = len(which)
        high, wide = canvas
        x = self.looks[which].float() / 8192
        t = self.truth[which].float() / 255
        size = self.sizes[which]
        whole = self.chance(0.4, n)
        zoom = whole + (1 - whole) * self.uniform(0.55, 1.0, n)
        turn = self.gauss(n) * 0.07 * (1 - whole)
        flip = 1 - 2 * self.chance(0.5, n)
        # A whole frame is drawn out to the canvas; a part keeps its shape, about the largest that fits.
        fit = torch.minimum(size[:, 0] / wide, size[:, 1] / high)
        sx = torch.where(whole > 0, size[:, 0] / wide, fit) * zoom * wide / 2
        sy = torch.where(whole > 0, size[:, 1] / high, fit) * zoom * high / 2
        room = torch.stack([size[:, 0] / 2 - sx, size[:, 1] / 2 - sy], 1).clamp(min=0)
        middle = size / 2 + room * self.uniform(-1, 1, n, 2)
        v, u = torch.meshgrid(
            (torch.arange(high, device=self.device) + 0.5) / high * 2 - 1,
            (torch.arange(wide, device=self.device) + 0.5) / wide * 2 - 1,
            indexing="ij",
        )
        u = u[None] * (flip * sx)[:, None, None]
        v = v[None] * sy[:, None, None]
        cos, sin = torch.cos(turn)[:, None, None], torch.sin(turn)[:, None, None]
        px = middle[:, 0, None, None] + cos * u - sin * v
        py = middle[:, 1, None, None] + sin * u + cos * v
        px = torch.minimum(px.clamp(min=0.5), (size[:, 0] - 0.5)[:, None, None])
        py = torch.minimum(py.clamp(min=0.5), (size[:, 1] - 0.5)[:, None, None])
        grid = torch.stack([px / SIDE * 2 - 1, py / SIDE * 2 - 1], -1)
        x = F.grid_sample(x, grid, mode="bilinear", align_corners=False)
        t = F.grid_sample(t, grid, mode="bilinear", align_corners=False)
        return self.change(x, t, high, wide), t

    def change(self, x, t, high, wide):
        n = len(x)
        one = lambda low, high_: self.uniform(low, high_, n, 1, 1)
        level = x[:, 1] * 6
        middle = level.flatten(1).median(1).values[:, None, None]
        level = (level - middle) * one(0.75, 1.35) + middle + one(-2, 2) * 1.0
        apart = self.chance(0.3, n, 1, 1) * self.gauss(n, 1, 1) * 0.9
        level = level + apart * t[:, 0]
        level = level + self.gauss(n, high, wide) * one(0, 0.12) * self.chance(0.5, n, 1, 1)
        grey = 1 - self.chance(0.08, n, 1, 1)
        red = x[:, 2] * one(0.4, 1.6) * grey + self.gauss(n, 1, 1) * 0.2
        blue = x[:, 3] * one(0.4, 1.6) * grey + self.gauss(n, 1, 1) * 0.2
        texture = x[:, 4] + self.gauss(n, 1, 1) * 0.15 + self.gauss(n, high, wide) * one(0, 0.08)
        points = x[:, 5] * (1 - self.chance(0.15, n, 1, 1))
        false = self.chance(0.12, n, 1, 1) * self.chance(0.01, n, high, wide) * self.uniform(0, 1, n, high, wide)
        points = torch.maximum(points, false)
        out = torch.stack([level, level, red, blue, texture, points, torch.zeros_like(level)], 1)
        soft = self.chance(0.2, n, 1, 1, 1)
        out = torch.where(soft > 0, F.avg_pool2d(out, 3, 1, 1, count_include_pad=False), out)
        middle = out[:, 1].flatten(1).median(1).values[:, None, None]
        out[:, 0] = ((out[:, 1] - middle) / 3).clamp(-2, 2)
        out[:, 1] = out[:, 1] / 6
        out[:, 6] = (((torch.arange(high, device=self.device) + 0.5) / high) * 2 - 1)[None, :, None]
        return out


def loss_of(logits, truth):
    t = F.avg_pool2d(truth, 2)
    sky, source = t[:, 0], t[:, 1]
    sure = (1 - source).clamp(0, 1)
    z = logits[:, 0].float()
    cross = (F.binary_cross_entropy_with_logits(z, sky, reduction="none") * sure).mean()
    p = torch.sigmoid(z) * sure
    s = sky * sure
    both = (p * s).sum((1, 2))
    union = (p + s - p * s).sum((1, 2))
    overlap = 1 - ((both + 20) / (union + 20)).mean()
    # Nobody marked the lamps of the photographs.
    weight = torch.tensor(4.0, device=z.device)
    near = (F.binary_cross_entropy_with_logits(logits[:, 1].float(), source, reduction="none", pos_weight=weight) * t[:, 3]).mean()
    return cross + 0.5 * overlap + 0.2 * near + paint_loss(logits[:, 2].float(), t) + 0.15 * ratio_loss(logits[:, 3].float(), t)


def land_of(t):
    """Share of land in each cell (planes third from last), and its log2(lamp / ambient), stops."""
    sky, source, _, _, ratio = t.unbind(-3)
    land = (1 - sky - source).clamp(0, 1)
    return land, (ratio / land.clamp(min=1e-3)).clamp(0, 1) * 8 - 4


def paint_loss(z, t):
    land, _ = land_of(t)
    paint = torch.minimum(t[:, 2], land)
    known = land * t[:, 3]
    cross = (F.binary_cross_entropy_with_logits(z, paint / land.clamp(min=1e-3), reduction="none") * known).mean()
    p = torch.sigmoid(z) * known
    s = paint * t[:, 3]
    both = (p * paint).sum((1, 2))
    union = (p + s - p * paint).sum((1, 2))
    return cross + 0.3 * (1 - ((both + 20) / (union + 20)).mean())


def ratio_loss(z, t):
    """Of log2(lamp / ambient), stops."""
    land, told = land_of(t)
    known = t[:, 3] * land * (land > 0.2)
    return (F.smooth_l1_loss(z, told, reduction="none", beta=0.5) * known).sum() / known.sum().clamp(min=1)


def seen(model, views, i):
    """Answers of a whole frame at the size of its look, and its truth (0 to 1)."""
    w, h = (int(v) for v in views.sizes[i])
    x = views.looks[i : i + 1, :, :h, :w].float() / 8192
    x = F.pad(x, (0, -w % 32, 0, -h % 32), mode="replicate")
    with torch.no_grad(), torch.autocast("cuda", dtype=torch.bfloat16, enabled=x.is_cuda):
        z = model(x)
    z = F.interpolate(z.float(), scale_factor=2, mode="bilinear")[0, :, :h, :w]
    return z, views.truth[i, :, :h, :w].float() / 255


def ratio_errors(model, views, which):
    """Median of |stops| wrong of log2(lamp / ambient), of whole frames' land between -3 and 3."""
    model.eval()
    out = []
    for i in which:
        z, t = seen(model, views, i)
        land, told = land_of(t)
        keep = (land > 0.95) & (told.abs() < 3)
        if keep.sum() > 50:
            out.append((z[3] - told)[keep].abs().median().item())
    model.train()
    return np.array(out)


def answers(model, views, which, painted=False):
    """IoU of the sky (or of the painted land) of whole frames, at the size of the look."""
    model.eval()
    out = []
    for i in which:
        z, t = seen(model, views, i)
        sky = t[2 if painted else 0] > 0.5
        keep = t[1] < 0.5
        got = (z[0] <= 0) & (z[2] > 0) if painted else z[0] > 0
        both = (got & sky & keep).sum().item()
        either = ((got | sky) & keep).sum().item()
        out.append(both / either if either > 0 else 1.0)
    model.train()
    return np.array(out)


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("folder")
    parser.add_argument("out")
    parser.add_argument("seconds", type=float)
    parser.add_argument("runs", nargs="*")
    parser.add_argument("--from", dest="begin")
    parser.add_argument("--seed", type=int, default=SEED)
    told = parser.parse_args()
    folder, out, begin, runs = told.folder, told.out, told.begin, told.runs
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(told.seed)
    names, looks, truth, sizes = load(folder)
    views = Views(looks, truth, sizes, device)
    photo = np.array([name.startswith("photo-") for name in names])
    six = np.array([name.startswith("kinds-") for name in names])
    # The last digit is the shot's: a scene is shot several times.
    seeds = np.array([0 if p else int(name.split("-")[-1]) // 10 for name, p in zip(names, photo)])
    held = ~photo & (seeds % 20 == 0)
    print(f"{(~photo & ~held).sum()} scenes to learn from, {held.sum()} held back, {photo.sum()} photographs", flush=True)
    results = {}
    for run in runs:
        left_out = run.split("-", 1)[1] if run.startswith("without-") else None
        other = np.array([left_out is not None and name.startswith(f"{left_out}-") for name in names])
        scenes = np.flatnonzero(~photo & ~held & ~other & (six if run == "six" else True))
        own = [i for i in np.flatnonzero(photo) if run == "all" or (left_out and not names[i].startswith(f"photo-{left_out}"))]
        results[run] = train(run, names, views, scenes, np.array(own), told.seconds / len(runs), device, out, begin, told.seed)
        report(run, results[run], names, views, held, photo)


def chances(names, scenes):
    """Chance of each scene to be drawn: a kind of scene as often as the square root of how many there are, so that few do not drown in many."""
    kinds = np.array([names[i].split("-")[0] for i in scenes])
    _, kind, count = np.unique(kinds, return_inverse=True, return_counts=True)
    chance = 1 / np.sqrt(count[kind])
    return chance / chance.sum()


def train(run, names, views, scenes, own, seconds, device, out, begin, seed):
    torch.manual_seed(seed)
    pick = np.random.default_rng(seed)
    chance = chances(names, scenes)
    model = SkyNet().to(device).to(memory_format=torch.channels_last)
    if begin is not None:
        resume(model, begin, views.draw(torch.from_numpy(pick.choice(scenes, BATCH, p=chance)).to(device), CANVASES[0])[0])
    smooth = torch.optim.swa_utils.AveragedModel(model, multi_avg_fn=torch.optim.swa_utils.get_ema_multi_avg_fn(0.998), use_buffers=True)
    tuner = torch.optim.AdamW(model.parameters(), lr=1e-3, weight_decay=1e-4)
    started = kept = time.time()
    step = 0

    def keep(best):
        origin = {"run": run, "steps": step, "frames": len(scenes), "photographs": len(own)}
        layers = folded(copy.deepcopy(best).cpu())
        reference(layers, os.path.join(out, f"{run}.reference.json"))
        write_weights(layers, os.path.join(out, f"{run}.bin"), origin)

    while (part := (time.time() - started) / seconds) < 1:
        rate = (3e-3 if begin is None else 1.5e-3) * min(1, (step + 1) / 300) * (0.5 + 0.5 * np.cos(np.pi * min(1, part))) + 1e-5
        for group in tuner.param_groups:
            group["lr"] = rate
        which = pick.choice(scenes, BATCH, p=chance)
        if len(own) > 0:
            real = pick.random(BATCH) < 0.2
            which[real] = pick.choice(own, real.sum())
        x, t = views.draw(torch.from_numpy(which).to(device), CANVASES[step % len(CANVASES)])
        with torch.autocast("cuda", dtype=torch.bfloat16, enabled=device == "cuda"):
            logits = model(x.contiguous(memory_format=torch.channels_last))
        loss = loss_of(logits, t)
        tuner.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(model.parameters(), 1.0)
        tuner.step()
        smooth.update_parameters(model)
        step += 1
        if step % 500 == 0:
            print(f"{run} step {step} loss {loss.item():.4f} at {time.time() - started:.0f} s", flush=True)
        if time.time() - kept > KEPT_EVERY_S:
            kept = time.time()
            keep(smooth.module)
    keep(smooth.module)
    return smooth.module


def report(run, model, names, views, held, photo):
    kinds = np.array([name.split("-")[0] for name in names])
    for label in sorted(set(kinds[held])):
        for painted in [False, True]:
            got = answers(model, views, np.flatnonzero(held & (kinds == label)), painted)
            what = "paint" if painted else "sky"
            worst = f"worst tenth {np.quantile(got, 0.1):.4f} least {got.min():.4f}"
            print(f"{run}: {label}: {what}: median {np.median(got):.4f} mean {got.mean():.4f} {worst}", flush=True)
        got = ratio_errors(model, views, np.flatnonzero(held & (kinds == label)))
        if len(got) > 0:
            print(f"{run}: {label}: lamp over ambient wrong by {np.median(got):.3f} stop, worst tenth {np.quantile(got, 0.9):.3f}", flush=True)
    which = np.flatnonzero(photo)
    for i, value in zip(which, answers(model, views, which)):
        print(f"{run}: {names[i]} {value:.4f}", flush=True)


if __name__ == "__main__":
    main()
