"""Layers that are named for a service: all that some exports of drawings tell of it.

A layer holds the shapes of elements, or the items of their shapes. What an element's systems and
ports say goes before.
"""

from collections.abc import Callable, Iterable

from ifclint.ifc.elements import Basis, Confidence
from ifclint.ifc.facts.phases import by_phrases
from ifclint.ifc.facts.service.system_reader import SystemReader
from ifclint.ifc.step.spf import arguments, class_and_arguments, members, number, numbers, string
from ifclint.ifc.step.text import clean
from ifclint.ifc.step.text_index import Ref, TextIndex

LAYERS = (b"IFCPRESENTATIONLAYERASSIGNMENT", b"IFCPRESENTATIONLAYERWITHSTYLE")


def layers_of(
    text: TextIndex, shapes: Iterable[tuple[Ref, Ref]], systems: SystemReader
) -> dict[Ref, tuple[Ref, ...]]:
    """The layer of each element that lies on one named for a service, of (element, shape); the
    layer is one of its groups from now on."""
    layer_of = _layer_by_item(
        text,
        lambda layer, title: systems.add_layer(
            layer, title, Basis(f'layer "{title}"', Confidence.WORDS)
        ),
    )
    if not layer_of:
        return {}
    found = ((element, _of_shape(text, shape, layer_of)) for element, shape in shapes)
    return {element: (layer,) for element, layer in found if layer}


def statuses_of(text: TextIndex, shapes: Iterable[tuple[Ref, Ref]]) -> dict[Ref, tuple[str, Basis]]:
    """What the layers of elements, of (element, shape), say of what is to become of them."""
    said: dict[Ref, tuple[str, Basis]] = {}

    def tells(layer: Ref, title: str) -> bool:
        if status := by_phrases(title):
            said[layer] = status, Basis(f'layer "{title}"', Confidence.WORDS)
        return layer in said

    layer_of = _layer_by_item(text, tells)
    if not layer_of:
        return {}
    found = ((element, _of_shape(text, shape, layer_of)) for element, shape in shapes)
    return {element: said[layer] for element, layer in found if layer}


def _layer_by_item(text: TextIndex, take: Callable[[Ref, str], bool]) -> dict[Ref, Ref]:
    """The layer of everything that lies on a layer that is taken for its name."""
    found: dict[Ref, Ref] = {}
    for name in LAYERS:
        refs, lines = text.of_class(name)
        for layer, line in zip(refs.tolist(), lines, strict=True):
            written = arguments(line)
            if len(written) < 3:
                continue
            title = clean(string(written[0]))
            if take(layer, title):
                found |= dict.fromkeys(numbers(written[2][1:-1]), layer)
    return found


def _of_shape(text: TextIndex, shape: Ref, layer_of: dict[Ref, Ref]) -> Ref:
    """The layer of a shape, of one of its representations or of their items; 0 for none."""
    for representation in _members(text, shape, 2):
        for item in (representation, *_members(text, representation, 3)):
            if item in layer_of:
                return layer_of[item]
    return 0


def _members(text: TextIndex, ref: Ref, argument: int) -> list[Ref]:
    """The instances that an argument of an instance lists."""
    _, written = class_and_arguments(text.get(ref))
    return [number(m) for m in members(written[argument])] if len(written) > argument else []
