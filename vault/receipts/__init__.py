"""Evidence documents -> purchases, refunds and what shops say about themselves.

`read.read` is the one door.  Every kind of evidence is brought to one small form (`lines`: blocks of lines of cells,
with links and weight; from `html`, `plain`, `runs`), and one engine (`engine`) reads that form: labels and values
(`view`), rows of things sold (`rows`, `titles`), totals and arithmetic (`sums`), sentences (`prose`), links
(`downloads`), the shop (`shop`), what the document is (`signs`).  The words of a language are one file in `words/`.
"""
