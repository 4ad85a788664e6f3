"""The vocabulary in SKOS, the W3C's way to write down what words mean and how they hang together.

A phase is the broadest concept, a checkpoint is narrower, a fault narrower still; what mends and
what rules is related. The addresses of the pages are the names of the concepts.
"""

from __future__ import annotations

from collections.abc import Callable

from rdflib import RDF, Graph, Literal, Namespace, URIRef
from rdflib.namespace import DCTERMS, SKOS

from portal.technique.lexicon import Lexicon, Row
from portal.technique.models import Phase, Stroke

LANGUAGE = "en"
PAGES = {
    "checkpoints": "checkpoints",
    "faults": "faults",
    "drills": "drills",
    "rules": "rules",
}


def as_turtle(lexicon: Lexicon, *, base: str, title: str) -> str:
    """`base` is where the catalogue stands, with a slash at its end."""
    return _graph(lexicon, base, title).serialize(format="turtle")


def _graph(lexicon: Lexicon, base: str, title: str) -> Graph:
    graph, scheme = Graph(), URIRef(base)
    graph.bind("skos", SKOS)
    graph.bind("dct", DCTERMS)
    space = Namespace(base)
    graph.add((scheme, RDF.type, SKOS.ConceptScheme))
    graph.add((scheme, DCTERMS.title, Literal(title, lang=LANGUAGE)))

    def of(table: str, slug: str) -> URIRef:
        return space[f"{PAGES[table]}/{slug}/"]

    here = {(row.table, row.slug) for row in lexicon.rows}
    for phase in Phase:
        concept = space[f"#{phase.value}"]
        graph.add((concept, RDF.type, SKOS.Concept))
        graph.add((concept, SKOS.prefLabel, Literal(str(phase.label), lang=LANGUAGE)))
        graph.add((concept, SKOS.topConceptOf, scheme))
        graph.add((scheme, SKOS.hasTopConcept, concept))
        graph.add((concept, SKOS.inScheme, scheme))
    for row in lexicon.rows:
        _concept(graph, row, scheme, of)
        is_below = row.table == "faults" and ("checkpoints", row.checkpoint) in here
        above = of("checkpoints", row.checkpoint) if is_below else space[f"#{row.phase}"]
        _both(graph, of(row.table, row.slug), SKOS.broader, above, SKOS.narrower)
    _strokes(graph, lexicon, space, of)
    return graph


def _concept(graph: Graph, row: Row, scheme: URIRef, of: Callable[[str, str], URIRef]) -> None:
    concept = of(row.table, row.slug)
    name = row.our_name or row.name
    graph.add((concept, RDF.type, SKOS.Concept))
    graph.add((concept, SKOS.inScheme, scheme))
    graph.add((concept, SKOS.notation, Literal(row.slug)))
    graph.add((concept, SKOS.prefLabel, Literal(name, lang=LANGUAGE)))
    for other in {row.name, *row.also} - {name}:
        graph.add((concept, SKOS.altLabel, Literal(other, lang=LANGUAGE)))
    if row.text:
        graph.add((concept, SKOS.definition, Literal(row.text, lang=LANGUAGE)))
    for note in {row.our_cue or row.cue, row.our_cue_young or row.cue_young} - {""}:
        graph.add((concept, SKOS.note, Literal(note, lang=LANGUAGE)))
    for table in ("drills", "rules"):
        for slug in getattr(row, table):
            _both(graph, concept, SKOS.related, of(table, slug), SKOS.related)


def _strokes(
    graph: Graph, lexicon: Lexicon, space: Namespace, of: Callable[[str, str], URIRef]
) -> None:
    for stroke in Stroke:
        collection = space[f"{stroke.value}/"]
        graph.add((collection, RDF.type, SKOS.Collection))
        graph.add((collection, SKOS.prefLabel, Literal(str(stroke.label), lang=LANGUAGE)))
        for row in lexicon.rows:
            if {stroke.value, "any"} & set(row.strokes):
                graph.add((collection, SKOS.member, of(row.table, row.slug)))


def _both(graph: Graph, one: URIRef, there: URIRef, other: URIRef, back: URIRef) -> None:
    graph.add((one, there, other))
    graph.add((other, back, one))
