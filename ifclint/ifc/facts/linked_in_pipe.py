"""Elements that nothing names as pipework, and that the file links to pipe by their ports."""

from collections import defaultdict

import numpy as np

from ifclint.ifc.step.relations import linked_ports, owners_of
from ifclint.ifc.step.text_index import Ref, TextIndex

FEWEST_PORTS = 2  # linked; what is linked by one may be any kind of end


def linked_in_pipe(text: TextIndex, strange: set[Ref], pipework: set[Ref]) -> set[Ref]:
    """Which of some elements the file links to pipework at one port, by themselves or one after
    another, and to anything at a second one."""
    links = linked_ports(text)[:, :2]
    owners = owners_of(text, np.unique(links))
    ports, beside = defaultdict[Ref, set[Ref]](set), defaultdict[Ref, set[Ref]](set)
    for one, other in links.tolist():
        for port, far in ((one, other), (other, one)):
            if (element := owners.get(port, 0)) in strange:
                ports[element].add(port)
                beside[element].add(owners.get(far, 0))
    left = {element for element, own in ports.items() if len(own) >= FEWEST_PORTS}
    found = set[Ref]()
    while here := {element for element in left if not beside[element].isdisjoint(pipework | found)}:
        found |= here
        left -= here
    return found
