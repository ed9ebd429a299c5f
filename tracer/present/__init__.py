"""Words and pictures of a job: the drawing and the report.

In come a job or a harness; out go SVG, PNG, PDF, HTML and Markdown as text or bytes. Faces write them to files.
"""
