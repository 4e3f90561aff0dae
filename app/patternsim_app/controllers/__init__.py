"""One for each part of the window: they alone know the job and the widgets."""
