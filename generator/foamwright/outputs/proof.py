"""`proof.pdf`: how the prop came out when it was built from its own templates, coloured by deviation."""

from __future__ import annotations

from foamwright.drawing.document import Document
from foamwright.drawing.pdf import pdf_bytes
from foamwright.outputs.records import Files, Output


def files(proof_pages: Document | None) -> Files:
    return {} if proof_pages is None else {"proof.pdf": pdf_bytes(proof_pages)}


OUTPUT = Output("proof", "how it comes out when built from its templates", files, pages={"proof.pdf": "proof_pages"})
