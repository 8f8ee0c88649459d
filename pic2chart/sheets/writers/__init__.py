"""Writers of sheets: SVG, PDF, PNG. They only translate."""
