"""PNG films: every grey value that the program reads equals the one that was written, for every colour
type, bit depth and interlacing of ISO/IEC 15948. The files are made here, chunk by chunk, and read back
by Pillow as well where it keeps the values (it does not for 16-bit colour)."""
import pathlib
import struct
import tempfile
import unittest
import zlib

import numpy
from PIL import Image

from dumped_film import DumpedFilm, refusal_of

ROWS, COLUMNS = 29, 37
GREY, COLOUR, PALETTE, GREY_ALPHA, COLOUR_ALPHA = 0, 2, 3, 4, 6
# Adam7: first column and row, steps (ISO/IEC 15948, 8.2).
PASSES = [(0, 0, 8, 8), (4, 0, 8, 8), (0, 4, 4, 8), (2, 0, 4, 4), (0, 2, 2, 4), (1, 0, 2, 2), (0, 1, 1, 2)]


def chunk(kind, data):
    return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))


def scan_lines(samples, depth):
    """Unfiltered lines of samples, rows x columns x channels."""
    lines = b""
    for row in samples.reshape(samples.shape[0], -1):
        if depth == 16:
            packed = row.astype(">u2").tobytes()
        elif depth == 8:
            packed = row.astype(numpy.uint8).tobytes()
        else:
            bits = (row[:, None] >> numpy.arange(depth - 1, -1, -1)) & 1
            packed = numpy.packbits(bits.astype(numpy.uint8).reshape(-1)).tobytes()
        lines += b"\0" + packed
    return lines


def png(samples, depth, colour_type, before=(), interlaced=False, after=b""):
    if samples.ndim == 2:
        samples = samples[:, :, None]
    rows, columns = samples.shape[:2]
    if interlaced:
        parts = [samples[y::dy, x::dx] for x, y, dx, dy in PASSES]
        lines = b"".join(scan_lines(part, depth) for part in parts if part.size)
    else:
        lines = scan_lines(samples, depth)
    header = struct.pack(">IIBBBBB", columns, rows, depth, colour_type, 0, 0, int(interlaced))
    return (b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + b"".join(chunk(*part) for part in before)
            + chunk(b"IDAT", zlib.compress(lines)) + chunk(b"IEND", b"") + after)


def values_of(depth, seed=20240502):
    random = numpy.random.default_rng(seed)
    values = random.integers(0, 1 << depth, (ROWS, COLUMNS))
    values[2, 3], values[4, 5] = 0, (1 << depth) - 1
    return values


def repeated(values, alpha=None):
    planes = [values, values, values] + ([] if alpha is None else [alpha])
    return numpy.stack(planes, axis=-1)


class PngPixels(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)
        self.file = self.folder / "film.png"

    def read(self, content):
        self.file.write_bytes(content)
        return DumpedFilm(self.file, self.folder)

    def refuse(self, content):
        self.file.write_bytes(content)
        line = refusal_of(self.file, self.folder)
        self.assertEqual(line.count("\n"), 1)
        self.assertIn("film.png", line)
        return line

    def test_grey_of_every_depth(self):
        for depth in (1, 2, 4, 8, 16):
            for interlaced in (False, True):
                with self.subTest(depth=depth, interlaced=interlaced):
                    values = values_of(depth)
                    read = self.read(png(values, depth, GREY, interlaced=interlaced))
                    numpy.testing.assert_array_equal(read.grey, values)
                    self.assertFalse(read.facts["has_unusable"])
                    self.assertEqual(read.facts["format"], f"PNG, {depth} bit grey")
                    self.assertEqual(read.facts["highest_grey"], (1 << depth) - 1)
                    self.assertEqual(read.facts["bits_stored"], depth)
                    if depth >= 8:
                        numpy.testing.assert_array_equal(read.grey, numpy.asarray(Image.open(self.file)))

    def test_alpha_hides_only_where_it_is_0(self):
        for depth in (8, 16):
            values = values_of(depth)
            alpha = numpy.full(values.shape, (1 << depth) - 1)
            alpha[:5], alpha[5:9], alpha[9:12] = 0, 1, 1 << (depth - 1)
            for name, samples, kind in [("grey", numpy.stack([values, alpha], axis=-1), GREY_ALPHA),
                                        ("colour", repeated(values, alpha), COLOUR_ALPHA)]:
                for interlaced in (False, True):
                    with self.subTest(depth=depth, kind=name, interlaced=interlaced):
                        read = self.read(png(samples, depth, kind, interlaced=interlaced))
                        numpy.testing.assert_array_equal(read.grey, values)
                        numpy.testing.assert_array_equal(read.unusable, alpha == 0)

    def test_colour_that_is_grey(self):
        for depth in (8, 16):
            values = values_of(depth)
            with self.subTest(depth=depth):
                read = self.read(png(repeated(values), depth, COLOUR))
                numpy.testing.assert_array_equal(read.grey, values)
                self.assertEqual(read.facts["format"], f"PNG, {depth} bit colour that is grey")

    def test_true_colour_is_refused_at_its_first_pixel(self):
        for depth in (8, 16):
            samples = repeated(values_of(depth))
            samples[11, 13] = [7, 8, 7]
            samples[20, 2] = [9, 9, 0]
            line = self.refuse(png(samples, depth, COLOUR))
            self.assertIn("colour", line)
            self.assertIn("(13, 11)", line)

    def test_hidden_colour_does_not_count(self):
        alpha = numpy.full((ROWS, COLUMNS), 255)
        alpha[11, 13] = 0
        samples = repeated(values_of(8), alpha)
        samples[11, 13, 0] ^= 1
        read = self.read(png(samples, 8, COLOUR_ALPHA))
        self.assertEqual(read.unusable.sum(), 1)

    def test_the_one_transparent_grey_or_colour(self):
        values = values_of(8)
        read = self.read(png(values, 8, GREY, [(b"tRNS", struct.pack(">H", 255))]))
        numpy.testing.assert_array_equal(read.unusable, values == 255)
        read = self.read(png(repeated(values), 8, COLOUR, [(b"tRNS", struct.pack(">HHH", 0, 0, 0))]))
        numpy.testing.assert_array_equal(read.unusable, values == 0)
        deep = values_of(16)
        read = self.read(png(deep, 16, GREY, [(b"tRNS", struct.pack(">H", 65535))]))
        numpy.testing.assert_array_equal(read.unusable, deep == 65535)

    def test_palettes(self):
        for depth in (1, 2, 4, 8):
            with self.subTest(depth=depth):
                index = values_of(depth)
                entries = (numpy.arange(1 << depth) * 37 + 11) % 256
                palette = numpy.repeat(entries, 3).astype(numpy.uint8).tobytes()
                read = self.read(png(index, depth, PALETTE, [(b"PLTE", palette), (b"tRNS", b"\x00\x80")]))
                numpy.testing.assert_array_equal(read.grey, entries[index])
                numpy.testing.assert_array_equal(read.unusable, index == 0)
                self.assertEqual(read.facts["highest_grey"], 255)
                self.assertEqual(read.facts["bits_stored"], 8)

    def test_a_palette_with_colour(self):
        index = numpy.minimum(values_of(8), 199)
        palette = bytearray(numpy.repeat(numpy.arange(200), 3).astype(numpy.uint8).tobytes())
        palette[3 * 150] = 0
        self.assertIn("colour", self.refuse(png(index, 8, PALETTE, [(b"PLTE", bytes(palette))])))
        index[index == 150] = 0  # an entry that no pixel uses doesn't matter
        self.read(png(index, 8, PALETTE, [(b"PLTE", bytes(palette))]))
        index[0, 0] = 230
        self.assertIn("palette", self.refuse(png(index, 8, PALETTE, [(b"PLTE", bytes(palette))])))

    def test_significant_bits_and_pixel_shape(self):
        values = values_of(16)
        read = self.read(png(values, 16, GREY, [(b"sBIT", b"\x0c"), (b"pHYs", struct.pack(">IIB", 40000, 50000, 1))]))
        numpy.testing.assert_array_equal(read.grey, values)
        self.assertEqual(read.facts["bits_stored"], 12)
        self.assertEqual(read.facts["highest_grey"], 65535)
        self.assertAlmostEqual(read.facts["row_to_column_aspect"], 0.8)
        self.assertNotIn("spacing", read.facts)
        read = self.read(png(values, 16, GREY, [(b"pHYs", struct.pack(">IIB", 1, 4000000000, 0))]))
        self.assertEqual(read.facts["row_to_column_aspect"], 1.0)
        self.assertEqual(read.codes(), ["ignored-spacing"])

    def test_what_follows_the_end_does_not_matter(self):
        values = values_of(16)
        numpy.testing.assert_array_equal(self.read(png(values, 16, GREY, after=b"more" * 100)).grey, values)

    def test_texts_and_profiles_are_not_unpacked(self):
        bomb = b"x\0\0" + zlib.compress(bytes(200_000_000))
        values = values_of(16)
        extra = [(b"zTXt", bomb), (b"iCCP", bomb), (b"tEXt", b"Title\0A film")]
        numpy.testing.assert_array_equal(self.read(png(values, 16, GREY, extra)).grey, values)

    def test_truncation_at_every_length(self):
        content = png(values_of(16), 16, GREY)
        for length in [*range(8, 60), *range(60, len(content) - 1, 97), len(content) - 12, len(content) - 1]:
            self.refuse(content[:length])

    def test_any_flipped_bit_after_the_signature(self):
        content = png(values_of(8), 8, GREY)
        for place in [*range(8, 60), *range(60, len(content), 41), *range(len(content) - 12, len(content))]:
            flipped = bytearray(content)
            flipped[place] ^= 0x10
            self.refuse(bytes(flipped))

    def test_a_header_that_promises_more_than_the_file_holds(self):
        def with_header(columns, rows):
            header = struct.pack(">IIBBBBB", columns, rows, 16, GREY, 0, 0, 0)
            return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", zlib.compress(bytes(500))) + chunk(b"IEND", b"")
        self.assertIn("promises", self.refuse(with_header(9000, 9000)))
        self.assertIn("100 million", self.refuse(with_header(60000, 60000)))
        self.refuse(with_header(0, 10))


if __name__ == "__main__":
    unittest.main()
