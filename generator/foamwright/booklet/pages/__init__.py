"""The booklet set on paper and as a web page."""
