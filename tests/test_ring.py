"""The ring between the sound library's thread and the loop."""

import threading

import numpy as np

from device.parts.ring import Ring


def counted(start, count):
    return np.arange(start, start + count, dtype=np.float32)


def test_everything_comes_out_once_and_in_order():
    ring, out, sent = Ring(1000), [], 0
    random = np.random.default_rng(3)
    for _ in range(500):
        for count in random.integers(1, 100, size=random.integers(0, 4)):
            ring.write(counted(sent, count))
            sent += count
        out.append(ring.read())
    assert np.array_equal(np.concatenate(out), counted(0, sent))
    assert ring.overflows == 0


def test_what_was_read_is_a_copy():
    ring = Ring(10)
    ring.write(counted(0, 5))
    read = ring.read()
    ring.write(counted(50, 10))
    ring.write(counted(60, 10))
    assert np.array_equal(read, counted(0, 5))


def test_a_reader_that_is_late_gets_nothing_and_it_is_counted():
    ring = Ring(100)
    for k in range(3):
        ring.write(counted(50 * k, 50))
    assert len(ring.read()) == 0
    assert ring.overflows == 1
    ring.write(counted(150, 20))
    assert np.array_equal(ring.read(), counted(150, 20))


def test_two_threads_lose_nothing():
    ring, total, out = Ring(200_000), 200_000, []
    writer = threading.Thread(target=lambda: [ring.write(counted(k, 100)) for k in range(0, total, 100)])
    writer.start()
    while writer.is_alive():
        out.append(ring.read())
    out.append(ring.read())
    assert np.array_equal(np.concatenate(out), counted(0, total))
