"""The lesson page: one HTML file and its assets that show a lesson and play it, from disk or from any web server."""
