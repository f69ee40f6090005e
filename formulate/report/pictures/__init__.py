"""Pictures: SVG, PDF and PNG."""
