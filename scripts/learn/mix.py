"""The mean of two networks' weights, one trained on from the other: what both hold, and less of what either got wrong alone.

python3 scripts/learn/mix.py ONE.bin OTHER.bin OUT.bin    (writes OUT.reference.json beside it)
"""

import json
import struct
import sys

from model import KEPT, read_weights, reference, write_weights


def main():
    one, other, out = sys.argv[1:]
    first, second = read_weights(one), read_weights(other)
    layers = []
    for name, (kernel, bias) in first.items():
        kernels = [kernel, second[name][0]]
        biases = None if bias is None else [bias, second[name][1]]
        if name == "head":
            kernels, biases = [k[:KEPT] for k in kernels], [b[:KEPT] for b in biases]
        mean = lambda parts: ((parts[0] + parts[1]) / 2).numpy()
        layers.append((name, mean([k.permute(2, 3, 1, 0) for k in kernels]), None if biases is None else mean(biases)))
    write_weights(layers, out, {"mixed": [origin_of(one), origin_of(other)]})
    reference(layers, out.removesuffix(".bin") + ".reference.json")


def origin_of(path):
    raw = open(path, "rb").read()
    header = json.loads(raw[4 : 4 + struct.unpack("<I", raw[:4])[0]])
    return {key: value for key, value in header.items() if key != "layers"}


if __name__ == "__main__":
    main()
