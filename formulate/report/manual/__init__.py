"""The manual that ships with the program: Markdown topics, for a terminal and for the page."""

from formulate.report.manual.html import topic_html
from formulate.report.manual.terminal import list_lines, topic_lines
from formulate.report.manual.topic_files import Topic, topic, topics

__all__ = ["Topic", "list_lines", "topic", "topic_html", "topic_lines", "topics"]
