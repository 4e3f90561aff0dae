"""How long the window is away from its events while work runs behind it."""

import os

os.environ.setdefault("QT_QPA_PLATFORM", "offscreen")

import time

import numpy as np
from PySide6.QtCore import QCoreApplication, QElapsedTimer, QObject, QTimer

from patternsim_app.jobs import Jobs

SECONDS = 60.0


class Sink(QObject):
    def done(self, _result):
        raise AssertionError("this work has no end")

    def failed(self, error):
        raise error


def heavy(_given, progress):
    field = np.random.default_rng(1).random((600, 600))
    while True:
        progress.at(0.5, "pressing")
        sum(k * k for k in range(40_000))
        field = np.tanh(field @ field.T / 600.0)


def test_a_minute_of_work_leaves_the_window_awake(qapp):
    # The bar is 100 ms. Measured on two shared cores: 16, 17, 31, 39 and 48 ms; one run of six went over
    # it, and what else ran then is not known. Run it on a quiet machine.
    jobs, sink, gaps = Jobs(), Sink(), []
    watch = QElapsedTimer()

    def tick():
        gaps.append(watch.nsecsElapsed() * 1e-6)
        watch.restart()

    clock = QTimer()
    clock.timeout.connect(tick)
    jobs.start("picture", heavy, None, done=sink.done, failed=sink.failed)
    jobs.start("export", heavy, None, done=sink.done, failed=sink.failed, background=True)
    watch.start()
    clock.start(5)
    end = time.perf_counter() + SECONDS
    while time.perf_counter() < end:
        QCoreApplication.processEvents()
        time.sleep(0.001)
    clock.stop()
    assert jobs.close()
    middle, late = np.percentile(gaps, [50, 99.9])
    print(
        f"\n{len(gaps)} ticks: middle {middle:.1f} ms, 99.9 % {late:.1f} ms, longest {max(gaps):.1f} ms"
    )
    assert max(gaps) < 100.0
