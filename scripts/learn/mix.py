"""A mean of two networks' weights, one trained on from the other: what both hold, and less of what either got wrong alone.

python3 scripts/learn/mix.py ONE.bin OTHER.bin OUT.bin [PART]    (PART of ONE, 0 to 1, else half; writes OUT.reference.json beside it)
"""

import sys

from model import read_weights, reference, write_weights


def main():
    one, other, out = sys.argv[1:4]
    part = float(sys.argv[4]) if len(sys.argv) > 4 else 0.5
    (first, origin), (second, other_origin) = read_weights(one), read_weights(other)
    mean = lambda a, b: (part * a + (1 - part) * b).numpy()
    layers = [
        (name, mean(kernel, second[name][0]).transpose(2, 3, 1, 0), None if bias is None else mean(bias, second[name][1]))
        for name, (kernel, bias) in first.items()
    ]
    write_weights(layers, out, {"mixed": [origin, other_origin], "part": part})
    reference(layers, out.removesuffix(".bin") + ".reference.json")


if __name__ == "__main__":
    main()
