"""Made-up networks of flows, and their balances as a full matrix."""

import numpy as np


def tank_farm(seed: int, nodes: int) -> tuple[np.ndarray, np.ndarray]:
    """A made-up network: each node is fed by earlier ones or from outside, and feeds later ones."""
    rng = np.random.default_rng(seed)
    source, target = [], []
    for node in range(nodes):
        for _ in range(rng.integers(1, 3)):
            source.append(int(rng.integers(max(node - 4, 0) - 1, node)))
            target.append(node)
        if rng.random() < 0.4 or node == nodes - 1:
            source.append(node)
            target.append(-1)
    return np.array(source), np.array(target)


def balance_matrix(source: np.ndarray, target: np.ndarray) -> np.ndarray:
    """Nodes by streams: 1 where a stream enters, -1 where it leaves."""
    nodes = max(source.max(), target.max()) + 1
    streams = np.arange(len(source))
    balances = np.zeros((nodes + 1, len(source)))
    np.add.at(balances, (target, streams), 1.0)
    np.add.at(balances, (source, streams), -1.0)
    return balances[:nodes]
