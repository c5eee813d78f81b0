"""The network that tells sky from land: an encoder and a decoder with skips, under 600 thousand parameters.

Input: N x 7 x H x W (src/segment/learned/look.ts), H and W multiples of 32. Output: N x 2 x H/2 x W/2, log odds of sky and of source.
"""

import json
import struct

import numpy as np
import torch
import torch.nn.functional as F
from torch import nn

CHANNELS = 7


class Block(nn.Module):
    """3 x 3 convolution, batch normalisation, ReLU."""

    def __init__(self, before, after):
        super().__init__()
        self.conv = nn.Conv2d(before, after, 3, padding=1, bias=False)
        self.norm = nn.BatchNorm2d(after)

    def forward(self, x):
        return F.relu(self.norm(self.conv(x)))


class SkyNet(nn.Module):
    """Names of the blocks are the names in the file of weights."""

    def __init__(self, wide=(12, 24, 44, 64, 80, 80)):
        super().__init__()
        a, b, c, d, e, f = wide
        self.blocks = nn.ModuleDict(
            {
                "in1": Block(CHANNELS, a),
                "in2": Block(a, b),
                "in2b": Block(b, b),
                "in3": Block(b, c),
                "in3b": Block(c, c),
                "in4": Block(c, d),
                "in4b": Block(d, d),
                "in5": Block(d, e),
                "in5b": Block(e, e),
                "in6": Block(e, f),
                "in6b": Block(f, f),
                "out5": Block(f + e, d),
                "out4": Block(d + d, c),
                "out3": Block(c + c, 32),
                "out2": Block(32 + b, 24),
            }
        )
        self.head = nn.Conv2d(24, 2, 1)

    def forward(self, x):
        n = self.blocks
        down = lambda t: F.max_pool2d(t, 2)
        up = lambda t: F.interpolate(t, scale_factor=2, mode="nearest")
        x1 = n["in1"](x)
        x2 = n["in2b"](n["in2"](down(x1)))
        x3 = n["in3b"](n["in3"](down(x2)))
        x4 = n["in4b"](n["in4"](down(x3)))
        x5 = n["in5b"](n["in5"](down(x4)))
        x6 = n["in6b"](n["in6"](down(x5)))
        y = n["out5"](torch.cat([up(x6), x5], 1))
        y = n["out4"](torch.cat([up(y), x4], 1))
        y = n["out3"](torch.cat([up(y), x3], 1))
        y = n["out2"](torch.cat([up(y), x2], 1))
        return self.head(y)


def folded(model):
    """[(name, kernel as height x width x in x out, bias)]: batch normalisation folded into the convolutions."""
    layers = []
    for name, block in model.blocks.items():
        scale = block.norm.weight / torch.sqrt(block.norm.running_var + block.norm.eps)
        kernel = block.conv.weight * scale[:, None, None, None]
        bias = block.norm.bias - block.norm.running_mean * scale
        layers.append((name, kernel, bias))
    layers.append(("head", model.head.weight, model.head.bias))
    return [(n, k.detach().float().cpu().permute(2, 3, 1, 0).numpy(), b.detach().float().cpu().numpy()) for n, k, b in layers]


def write_weights(model, path, origin):
    """uint32 length of a JSON header, the header (layers in order, shapes, origin), then 16-bit floats: kernel and bias of each layer."""
    layers = folded(model)
    header = {"layers": [{"name": n, "shape": list(k.shape)} for n, k, _ in layers], **origin}
    text = json.dumps(header).encode()
    text += b" " * (-(len(text) + 4) % 4)
    with open(path, "wb") as out:
        out.write(struct.pack("<I", len(text)) + text)
        for _, kernel, bias in layers:
            out.write(kernel.astype("<f2").tobytes() + bias.astype("<f2").tobytes())


def reference(model, path):
    """What this network answers to a fixed look, with the 16-bit weights of the file: the check of the other implementation."""
    width, height = 96, 64
    c, y, x = np.meshgrid(np.arange(CHANNELS), np.arange(height), np.arange(width), indexing="ij")
    look = np.sin(0.37 * x * (1 + c % 3) + 0.23 * y * (1 + c % 2) + c) * 0.9
    with torch.no_grad():
        t = torch.tensor(look, dtype=torch.float32)[None]
        weights = {n: (torch.tensor(k.astype("<f2").astype("f4")).permute(3, 2, 0, 1), torch.tensor(b.astype("<f2").astype("f4"))) for n, k, b in folded(model)}
        plain = PlainNet(weights)
        answer = plain(t)[0].numpy()
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


class PlainNet:
    """The folded network, on the processor."""

    def __init__(self, weights):
        self.weights = weights

    def block(self, name, x):
        kernel, bias = self.weights[name]
        return F.relu(F.conv2d(x, kernel, bias, padding=1))

    def __call__(self, x):
        down = lambda t: F.max_pool2d(t, 2)
        up = lambda t: F.interpolate(t, scale_factor=2, mode="nearest")
        b = self.block
        x1 = b("in1", x)
        x2 = b("in2b", b("in2", down(x1)))
        x3 = b("in3b", b("in3", down(x2)))
        x4 = b("in4b", b("in4", down(x3)))
        x5 = b("in5b", b("in5", down(x4)))
        x6 = b("in6b", b("in6", down(x5)))
        y = b("out5", torch.cat([up(x6), x5], 1))
        y = b("out4", torch.cat([up(y), x4], 1))
        y = b("out3", torch.cat([up(y), x3], 1))
        y = b("out2", torch.cat([up(y), x2], 1))
        kernel, bias = self.weights["head"]
        return F.conv2d(y, kernel, bias)
