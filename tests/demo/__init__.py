"""The demo campus: an invented campus, its five campaigns and the truth about them."""
