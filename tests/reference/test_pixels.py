"""DICOM films: every grey value that the program reads equals the one that numpy wrote through pydicom,
in every encoding that DCMTK's own tools (dcmconv, dcmcrle, dcmcjpeg, dcmcjpls) make of it. What loses
values is held to the packed picture as Pillow decodes it (baseline), to dcmdjpeg (extended, 12 bit), and
to the largest deviation that the encoder was told (JPEG-LS near-lossless)."""
import io
import pathlib
import subprocess
import tempfile
import unittest

import numpy
import pydicom
from PIL import Image
from pydicom.dataset import Dataset, FileMetaDataset
from pydicom.encaps import decode_data_sequence
from pydicom.uid import ExplicitVRLittleEndian, ImplicitVRLittleEndian

from dumped_film import DumpedFilm, refusal_of

ROWS, COLUMNS = 61, 47  # odd, so that 8-bit pixel data needs its padding byte
INTRA_ORAL = "1.2.840.10008.5.1.4.1.1.1.3"


def picture(lowest, highest, seed=20240501):
    """A smooth shade with noise, over the whole range, both ends included."""
    random = numpy.random.default_rng(seed)
    y, x = numpy.mgrid[0:ROWS, 0:COLUMNS]
    shade = 0.5 + 0.3 * numpy.sin(x / 9.0) + 0.2 * numpy.cos(y / 7.0)
    values = lowest + (highest - lowest) * (shade + random.normal(0.0, 0.02, shade.shape))
    values = numpy.clip(numpy.rint(values), lowest, highest).astype(numpy.int64)
    values[3, 4], values[5, 6] = lowest, highest
    return values


def stored_bits(values, bits, high_bit, junk=0):
    """The values as allocated 16-bit words, with junk in the bits that aren't stored."""
    mask = ((1 << bits) - 1) << (high_bit + 1 - bits)
    return (((values << (high_bit + 1 - bits)) & mask) | (junk & ~mask & 0xFFFF)).astype(numpy.uint16)


def film(words, bits, high_bit=None, signed=False, photometric="MONOCHROME2", **attributes):
    data = Dataset()
    data.file_meta = FileMetaDataset()
    data.file_meta.TransferSyntaxUID = ExplicitVRLittleEndian
    data.file_meta.MediaStorageSOPClassUID = data.SOPClassUID = INTRA_ORAL
    data.file_meta.MediaStorageSOPInstanceUID = data.SOPInstanceUID = "2.25.1"
    data.StudyInstanceUID, data.SeriesInstanceUID, data.Modality = "2.25.2", "2.25.3", "IO"
    data.PatientName, data.PatientID = "Invented^Film", "INVENTED"
    data.SamplesPerPixel, data.PhotometricInterpretation = 1, photometric
    data.Rows, data.Columns = words.shape
    data.BitsAllocated = 8 * words.dtype.itemsize
    data.BitsStored, data.HighBit = bits, bits - 1 if high_bit is None else high_bit
    data.PixelRepresentation = int(signed)
    for name, value in attributes.items():
        setattr(data, name, value)
    raw = words.astype(words.dtype.newbyteorder("<")).tobytes()
    data.PixelData = raw + b"\0" * (len(raw) % 2)
    data["PixelData"].VR = "OB" if words.dtype.itemsize == 1 else "OW"
    data.is_little_endian, data.is_implicit_VR = True, False
    return data


class Pixels(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def save(self, data):
        file = self.folder / "film.dcm"
        data.save_as(file, write_like_original=False)
        return file

    def convert(self, file, *command):
        converted = self.folder / "converted.dcm"
        subprocess.run([*command, file, converted], check=True, capture_output=True)
        return converted

    def assert_read(self, file, expected):
        read = DumpedFilm(file, self.folder)
        self.assertEqual(read.grey.shape, expected.shape)
        wrong = numpy.argwhere(read.grey != expected.astype(numpy.float32))
        self.assertEqual(len(wrong), 0, f"{len(wrong)} of {expected.size} pixels differ, first {wrong[:3].tolist()}")
        return read

    # The pictures that go through every lossless encoding.
    PICTURES = {
        "8 bit": (numpy.uint8, 8, False),
        "12 bit": (numpy.uint16, 12, False),
        "16 bit": (numpy.uint16, 16, False),
        "12 bit signed": (numpy.uint16, 12, True),
        "16 bit signed": (numpy.uint16, 16, True),
        "8 bit signed": (numpy.uint8, 8, True),
    }
    ENCODINGS = {
        "explicit little endian": ["dcmconv", "+te"],
        "implicit little endian": ["dcmconv", "+ti"],
        "explicit big endian": ["dcmconv", "+tb"],
        "deflated": ["dcmconv", "+td"],
        "RLE": ["dcmcrle"],
        "JPEG lossless, first-order prediction": ["dcmcjpeg", "+e1"],
        "JPEG lossless": ["dcmcjpeg", "+el", "+sv", "6"],
        "JPEG-LS lossless": ["dcmcjpls", "+el"],
    }

    def test_every_lossless_encoding_of_every_layout(self):
        for kind, (word, bits, signed) in self.PICTURES.items():
            lowest = -(1 << (bits - 1)) if signed else 0
            values = picture(lowest, lowest + (1 << bits) - 1)
            words = (values & ((1 << bits) - 1)).astype(word)
            file = self.save(film(words, bits, signed=signed))
            for encoding, command in self.ENCODINGS.items():
                with self.subTest(kind=kind, encoding=encoding):
                    read = self.assert_read(self.convert(file, *command), values)
                    self.assertEqual(read.facts["format"], f"DICOM, {encoding}, {bits} bit" + " signed" * signed)
                    self.assertEqual(read.facts["lowest_grey"], lowest)
                    self.assertEqual(read.facts["highest_grey"], lowest + (1 << bits) - 1)
                    self.assertEqual(read.facts["notes"], [])

    def test_any_high_bit_with_overlay_bits_masked_off(self):
        for bits, high_bit, signed in [(12, 15, False), (12, 13, False), (10, 15, True), (12, 12, True), (8, 11, False)]:
            with self.subTest(bits=bits, high_bit=high_bit, signed=signed):
                lowest = -(1 << (bits - 1)) if signed else 0
                values = picture(lowest, lowest + (1 << bits) - 1)
                words = stored_bits(values, bits, high_bit, junk=0xB6DB)
                file = self.save(film(words, bits, high_bit, signed))
                self.assert_read(file, values)
                self.assert_read(self.convert(file, "dcmcrle"), values)

    def test_rescale_with_fractions(self):
        values = picture(0, 4095)
        for slope, intercept in [("1", "-1024"), ("0.25", "-100.5"), ("-2.5", "+3E2")]:
            with self.subTest(slope=slope, intercept=intercept):
                file = self.save(film(values.astype(numpy.uint16), 12, RescaleSlope=slope, RescaleIntercept=intercept,
                                      RescaleType="US"))
                read = self.assert_read(file, float(slope) * values + float(intercept))
                ends = sorted([float(intercept), float(slope) * 4095 + float(intercept)])
                self.assertEqual([read.facts["lowest_grey"], read.facts["highest_grey"]], ends)

    def test_padding_is_unusable_and_its_values_stay(self):
        values = picture(-2048, 2047)
        values[:7, :9] = -2000
        for limit, last in [(None, -2000), (-1900, -1900)]:
            with self.subTest(limit=limit):
                data = film((values & 0xFFF).astype(numpy.uint16), 12, signed=True)
                data.add_new(0x00280120, "SS", -2000)
                if limit is not None:
                    data.add_new(0x00280121, "SS", limit)
                read = self.assert_read(self.save(data), values)
                numpy.testing.assert_array_equal(read.unusable, (values >= -2000) & (values <= last))

    def test_monochrome1_is_left_as_stored(self):
        values = picture(0, 4095)
        read = self.assert_read(self.save(film(values.astype(numpy.uint16), 12, photometric="MONOCHROME1")), values)
        self.assertEqual(read.facts["radiopaque"], "dark")

    def test_no_meta_header(self):
        values = picture(0, 4095)
        for implicit in (True, False):
            with self.subTest(implicit=implicit):
                data = film(values.astype(numpy.uint16), 12)
                del data.file_meta
                data.is_implicit_VR = implicit
                file = self.folder / "bare.dcm"
                data.save_as(file, write_like_original=True)
                self.assertNotIn(b"DICM", file.read_bytes())
                self.assert_read(file, values)

    def test_8_bits_in_words(self):
        values = picture(0, 255)
        data = film(values.astype(numpy.uint8), 8)
        data.file_meta.TransferSyntaxUID = ImplicitVRLittleEndian
        data.is_implicit_VR = True
        data["PixelData"].VR = "OW"
        self.assert_read(self.save(data), values)

    def test_several_fragments(self):
        values = picture(0, 4095)
        file = self.convert(self.save(film(values.astype(numpy.uint16), 12)), "dcmcjpeg", "+e1", "+ff", "+fs", "1")
        self.assertGreater(file.read_bytes().count(b"\xfe\xff\x00\xe0"), 2)
        self.assert_read(file, values)

    def test_baseline_as_pillow_decodes_it(self):
        values = picture(0, 255)
        file = self.convert(self.save(film(values.astype(numpy.uint8), 8)), "dcmcjpeg", "+eb", "+q", "85")
        packed = b"".join(decode_data_sequence(pydicom.dcmread(file).PixelData))
        expected = numpy.asarray(Image.open(io.BytesIO(packed))).astype(numpy.int64)
        read = DumpedFilm(file, self.folder)
        # Two inverse cosine transforms may round differently by one (ISO/IEC 10918-2).
        self.assertLessEqual(numpy.abs(read.grey - expected).max(), 1)
        self.assertEqual(read.codes(), ["lossy-compression"])
        self.assertEqual(read.facts["format"], "DICOM, JPEG baseline, 8 bit")

    def test_extended_as_dcmdjpeg_decodes_it(self):
        values = picture(0, 4095)
        file = self.convert(self.save(film(values.astype(numpy.uint16), 12)), "dcmcjpeg", "+ee", "+q", "90")
        read = DumpedFilm(file, self.folder)
        self.assertEqual(read.codes(), ["lossy-compression"])
        self.assertTrue(read.facts["format"].startswith("DICOM, JPEG extended"))
        plain = self.folder / "plain.dcm"
        subprocess.run(["dcmdjpeg", file, plain], check=True, capture_output=True)
        numpy.testing.assert_array_equal(read.grey, pydicom.dcmread(plain).pixel_array)

    def test_near_lossless_within_its_deviation(self):
        values = picture(0, 4095)
        file = self.convert(self.save(film(values.astype(numpy.uint16), 12)), "dcmcjpls", "+en", "+md", "3")
        read = DumpedFilm(file, self.folder)
        largest = numpy.abs(read.grey - values).max()
        self.assertLessEqual(largest, 3)
        self.assertGreater(largest, 0)
        self.assertEqual(read.codes(), ["lossy-compression"])

    def test_a_transfer_syntax_that_is_not_read_is_named(self):
        data = film(picture(0, 255).astype(numpy.uint8), 8)
        data.file_meta.TransferSyntaxUID = "1.2.840.10008.1.2.4.90"
        data.PixelData = pydicom.encaps.encapsulate([b"\xff\x4f\xff\x51" + bytes(200)])
        data["PixelData"].is_undefined_length = True
        self.assertIn("JPEG 2000", refusal_of(self.save(data), self.folder))


if __name__ == "__main__":
    unittest.main()
