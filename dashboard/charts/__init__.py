"""Charts: functions from a frame to an Altair chart. They compute nothing and know no page."""
