"""The network that tells sky from land and painted land from unlit: an encoder and a decoder with skips, of separable convolutions.

Input: N x 7 x H x W (src/segment/learned/look.ts), H and W multiples of 32. Output: N x 4 x H/2 x W/2, log odds of sky, of source, of land being
painted, and log2(lamp light / ambient light) of land, -4 to 4.
"""

import json
import os
import struct

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

CHANNELS = 7
ANSWERS = 4
# The last answer is asked in training alone: it makes the network look at how strong the light is.
KEPT = 3


class Full(nn.Module):
    """Convolution, batch normalisation, ReLU."""

    def __init__(self, before, after, size=3, stride=1):
        super().__init__()
        self.stride = stride
        self.conv = nn.Conv2d(before, after, size, stride=stride, padding=(size - 1) // 2, bias=False)
        self.norm = nn.BatchNorm2d(after)

    def forward(self, x):
        return F.relu(self.norm(self.conv(x)))


class Separable(nn.Module):
    """3 x 3 convolution of each channel apart, then 1 x 1 over all of them, batch normalisation, ReLU."""

    def __init__(self, before, after):
        super().__init__()
        self.each = nn.Conv2d(before, before, 3, padding=1, groups=before, bias=False)
        self.conv = nn.Conv2d(before, after, 1, bias=False)
        self.norm = nn.BatchNorm2d(after)

    def forward(self, x):
        return F.relu(self.norm(self.conv(self.each(x))))


class SkyNet(nn.Module):
    """Names of the blocks are the names in the file of weights."""

    def __init__(self, wide=(32, 64, 96, 160, 160)):
        super().__init__()
        a, b, c, d, e = wide
        self.blocks = nn.ModuleDict(
            {
                "in1": Full(CHANNELS, a, 4, 2),
                "in2": Separable(a, a),
                "in3": Separable(a, b),
                "in3a": Separable(b, b),
                "in4": Separable(b, c),
                "in4a": Separable(c, c),
                "in4b": Separable(c, c),
                "in5": Separable(c, d),
                "in5a": Separable(d, d),
                "in5b": Separable(d, d),
                "in6": Separable(d, e),
                "in6a": Separable(e, e),
                "in6b": Separable(e, e),
                "low5": Full(e, d, 1),
                "out5": Separable(d, d),
                "low4": Full(d, c, 1),
                "out4": Separable(c, c),
                "low3": Full(c, b, 1),
                "out3": Separable(b, b),
                "low2": Full(b, a, 1),
                "out2": Full(a, 16),
            }
        )
        self.head = nn.Conv2d(16, ANSWERS, 1)

    def forward(self, x):
        return run(lambda name, t: self.blocks[name](t), self.head, x)


def run(block, head, x):
    down = lambda t: F.max_pool2d(t, 2)
    up = lambda t: F.interpolate(t, scale_factor=2, mode="nearest")
    more = lambda name, t: t + block(name, t)
    x2 = more("in2", block("in1", x))
    x3 = more("in3a", block("in3", down(x2)))
    x4 = more("in4b", more("in4a", block("in4", down(x3))))
    x5 = more("in5b", more("in5a", block("in5", down(x4))))
    y = more("in6b", more("in6a", block("in6", down(x5))))
    y = more("out5", up(block("low5", y)) + x5)
    y = more("out4", up(block("low4", y)) + x4)
    y = more("out3", up(block("low3", y)) + x3)
    y = block("out2", up(block("low2", y)) + x2)
    return head(y)


def folded(model):
    """[(name, kernel as height x width x in x out, bias or None)]: batch normalisation folded into the convolutions."""
    layers = []
    for name, block in model.blocks.items():
        scale = block.norm.weight / torch.sqrt(block.norm.running_var + block.norm.eps)
        if isinstance(block, Separable):
            layers.append((name + ".each", block.each.weight, None))
        layers.append((name, block.conv.weight * scale[:, None, None, None], block.norm.bias - block.norm.running_mean * scale))
    layers.append(("head", model.head.weight[:KEPT], model.head.bias[:KEPT]))
    bare = lambda t: t.detach().float().cpu()
    return [(n, bare(k).permute(2, 3, 1, 0).numpy(), None if b is None else bare(b).numpy()) for n, k, b in layers]


def write_weights(layers, path, origin):
    """Layers as of folded(). uint32 length of a JSON header, the header (layers in order, shapes, origin), then 16-bit floats: kernel and, but for NAME.each, bias."""
    header = {"layers": [{"name": n, "shape": list(k.shape)} for n, k, _ in layers], **origin}
    text = json.dumps(header).encode()
    text += b" " * (-(len(text) + 4) % 4)
    with open(path + ".part", "wb") as out:
        out.write(struct.pack("<I", len(text)) + text)
        for _, kernel, bias in layers:
            out.write(kernel.astype("<f2").tobytes())
            if bias is not None:
                out.write(bias.astype("<f2").tobytes())
    os.replace(path + ".part", path)


def read_weights(path):
    """{name: (kernel as out x in x height x width, bias or None)} of a file of write_weights, and its origin."""
    raw = open(path, "rb").read()
    start = 4 + struct.unpack("<I", raw[:4])[0]
    values = np.frombuffer(raw[start:], dtype="<f2").astype("f4")
    at = 0
    out = {}
    origin = json.loads(raw[4:start])
    for layer in origin.pop("layers"):
        high, wide, before, after = layer["shape"]
        count = high * wide * before * after
        kernel = torch.tensor(values[at : at + count].reshape(high, wide, before, after)).permute(3, 2, 0, 1).contiguous()
        at += count
        bias = None
        if not layer["name"].endswith(".each"):
            bias = torch.tensor(values[at : at + after])
            at += after
        out[layer["name"]] = (kernel, bias)
    return out, origin


def resume(model, path, looks):
    """Gives the model the weights of a file; the normalisation takes the statistics of `looks`, so that the answers stay as they were."""
    weights, _ = read_weights(path)
    hooks = []

    def keep(norm, bias):
        def hook(_, inputs, __):
            x = inputs[0].float()
            mean = x.mean((0, 2, 3))
            spread = x.var((0, 2, 3), unbiased=False)
            norm.running_mean.copy_(mean)
            norm.running_var.copy_(spread)
            norm.weight.data.copy_(torch.sqrt(spread + norm.eps))
            norm.bias.data.copy_(mean + bias)
            return inputs[0] + bias[None, :, None, None]

        return hook

    for name, block in model.blocks.items():
        kernel, bias = weights[name]
        block.conv.weight.data.copy_(kernel)
        if isinstance(block, Separable):
            block.each.weight.data.copy_(weights[name + ".each"][0])
        hooks.append(block.norm.register_forward_hook(keep(block.norm, bias.to(looks.device))))
    kernel, bias = weights["head"]
    model.head.weight.data[: len(kernel)].copy_(kernel)
    model.head.bias.data[: len(kernel)].copy_(bias)
    with torch.no_grad():
        model.eval()(looks)
        for hook in hooks:
            hook.remove()
    model.train()


def reference(layers, path):
    """What the network of these layers answers to a fixed look, with the 16-bit weights of the file: the check of the other implementation."""
    width, height = 96, 64
    c, y, x = np.meshgrid(np.arange(CHANNELS), np.arange(height), np.arange(width), indexing="ij")
    look = np.sin(0.37 * x * (1 + c % 3) + 0.23 * y * (1 + c % 2) + c) * 0.9
    half = lambda a: torch.tensor(a.astype("<f2").astype("f4"))
    with torch.no_grad():
        t = torch.tensor(look, dtype=torch.float32)[None]
        weights = {n: (half(k).permute(3, 2, 0, 1), None if b is None else half(b)) for n, k, b in layers}
        answer = plain(weights, t)[0].numpy()
    json.dump(
        {
            "width": width,
            "height": height,
            "look": "sin(0.37 x (1 + c mod 3) + 0.23 y (1 + c mod 2) + c) * 0.9",
            "from": f"PyTorch {torch.__version__}, 32-bit, scripts/learn/model.py",
            "logOdds": [[round(float(v), 5) for v in plane.ravel()[::7]] for plane in answer],
            "every": 7,
        },
        open(path, "w"),
    )


def plain(weights, x):
    """The folded network, on the processor."""

    def block(name, t):
        if name + ".each" in weights:
            each = weights[name + ".each"][0]
            t = F.conv2d(t, each, padding=1, groups=len(each))
        kernel, bias = weights[name]
        size = kernel.shape[-1]
        return F.relu(F.conv2d(t, kernel, bias, stride=2 if name == "in1" else 1, padding=(size - 1) // 2))

    return run(block, lambda t: F.conv2d(t, *weights["head"]), x)
