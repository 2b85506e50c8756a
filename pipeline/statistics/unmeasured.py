"""Streams that were not measured: which nodes they make one, and which of them the balances give all the same."""

import numpy as np
from numpy.typing import NDArray
from scipy import sparse
from scipy.sparse.csgraph import breadth_first_order, connected_components

Indices = NDArray[np.int64]


def merged_nodes(source: Indices, target: Indices, nodes: int) -> Indices:
    """Number of each node after the nodes that unmeasured streams join were made one; -1 is the environment's.

    Parameters
    ----------
    source, target : array of int
        Nodes that the unmeasured streams leave and enter, -1 for the environment [-]
    nodes : int
        How many nodes there are [-]

    Returns
    -------
    array of int
        One entry a node and a last one for the environment, so that index -1 finds it

    Source
    ------
    Narasimhan and Jordache (2000), chapter 3: merging nodes takes unmeasured streams out of the balances.

    Examples
    --------
    >>> merged_nodes(np.array([0, 2]), np.array([1, -1]), 4).tolist()
    [0, 0, -1, 1, -1]
    """
    ends = (source % (nodes + 1), target % (nodes + 1))
    joined = sparse.coo_matrix((np.ones(len(source)), ends), shape=(nodes + 1, nodes + 1))
    label = connected_components(joined, directed=False)[1]
    inner = label != label[nodes]
    number = np.full(nodes + 1, -1, dtype=np.int64)
    number[inner] = np.unique(label[inner], return_inverse=True)[1]
    return number


def worked_out_from(source: Indices, target: Indices, known: NDArray[np.bool_]) -> tuple[Indices, sparse.csr_matrix]:
    """The unmeasured streams that can be worked out, each as a sum of the measured ones.

    An unmeasured stream can be worked out where it is the only unmeasured way between two parts of the network: then
    the balance of the whole part on one side gives it. Streams in a ring of unmeasured ones cannot.

    Parameters
    ----------
    source, target : array of int
        Node that each stream leaves and node that it enters, -1 for the environment [-]
    known : array of bool
        Which streams were measured [-]

    Returns
    -------
    determined : array of int
        Streams that can be worked out
    parts : sparse matrix
        Their values as sums of the measured streams: one row each, one column a measured stream

    Source
    ------
    Observability of flow networks: Narasimhan and Jordache (2000), chapter 3.

    Examples
    --------
    >>> determined, parts = worked_out_from(np.array([-1, 0, 0]), np.array([0, -1, -1]), np.array([True, True, False]))
    >>> determined.tolist(), parts.toarray().tolist()
    ([2], [[1.0, -1.0]])
    """
    streams = np.flatnonzero(~known)
    nodes = int(max(source.max(), target.max())) + 1
    if not len(streams):
        return streams, sparse.csr_matrix((0, int(known.sum())))
    tree, below = _tree(source[streams] % (nodes + 1), target[streams] % (nodes + 1), nodes)
    across = (below @ _signs(source, target, nodes)).tocsr()  # net flow into what lies below each stream of the tree
    others = np.setdiff1d(streams, streams[tree])
    only_way = np.asarray(abs(across) @ np.isin(np.arange(len(source)), others)).ravel() == 0
    determined = streams[tree][only_way]
    across = across[np.flatnonzero(only_way)]
    own = across.tocsc()[:, determined].diagonal() if len(determined) else np.empty(0)
    return determined, (sparse.diags(-1.0 / own) @ across.tocsc()[:, np.flatnonzero(known)]).tocsr()


def _tree(source: Indices, target: Indices, nodes: int) -> tuple[Indices, sparse.csr_matrix]:
    """A tree of the unmeasured streams: which they are, and for each the nodes on the side away from the root."""
    size = nodes + 2  # one for the environment, one that joins all parts into one tree
    graph = sparse.coo_matrix((np.ones(len(source)), (source, target)), shape=(size, size))
    label = connected_components(graph, directed=False)[1]
    roots = np.unique(label[: nodes + 1][::-1], return_index=True)[1]
    roots = nodes - roots  # the last node of each part, so that the environment is the root of its own
    hub = np.full(len(roots), nodes + 1)
    ends = (np.concatenate([source, target, hub, roots]), np.concatenate([target, source, roots, hub]))
    joined = sparse.csr_matrix((np.ones(len(ends[0])), ends), shape=(size, size))
    order, before = breadth_first_order(joined, nodes + 1, directed=False)
    stream_of: dict[frozenset[int], int] = {}
    for stream, pair in enumerate(zip(source.tolist(), target.tolist(), strict=True)):
        stream_of.setdefault(frozenset(pair), stream)
    tree: list[int] = []
    path: dict[int, list[int]] = {nodes + 1: []}
    for node in order[1:].tolist():
        parent = int(before[node])
        path[node] = path[parent]
        if parent != nodes + 1:
            path[node] = [*path[parent], len(tree)]
            tree.append(stream_of[frozenset((node, parent))])
    pairs = [(row, node) for node in range(nodes + 1) for row in path[node]]
    rows, columns = np.array(pairs, dtype=np.int64).reshape(-1, 2).T
    below = sparse.csr_matrix((np.ones(len(rows)), (rows, columns)), shape=(len(tree), nodes + 1))
    return np.array(tree, dtype=np.int64), below


def _signs(source: Indices, target: Indices, nodes: int) -> sparse.csr_matrix:
    """Nodes by streams: +1 where a stream enters, -1 where it leaves; the last row is the environment's."""
    streams = np.arange(len(source))
    values = np.repeat([1.0, -1.0], len(source))
    places = (np.concatenate([target, source]) % (nodes + 1), np.concatenate([streams, streams]))
    return sparse.csr_matrix((values, places), shape=(nodes + 1, len(source)))
