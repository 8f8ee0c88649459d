"""What would trouble a knitter, how like the picture a chart is, and the report of it all."""
