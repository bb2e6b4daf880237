"""What a DICOM film says beside its pixels, written by pydicom: scale (PS3.3 10.7, C.7.6.3.1.7), meaning of
the grey (PS3.3 C.8.11.3.1.2), loss. Every rule of row\\column order is tried with unequal sizes."""
import pathlib
import struct
import subprocess
import tempfile
import unittest
import zlib

import numpy
import pydicom
from pydicom.encaps import decode_data_sequence, encapsulate

from dumped_film import DumpedFilm, refusal_of
from test_pixels import film, picture

VALUES = picture(0, 4095).astype(numpy.uint16)


class InFolder(unittest.TestCase):
    def setUp(self):
        folder = tempfile.TemporaryDirectory()
        self.addCleanup(folder.cleanup)
        self.folder = pathlib.Path(folder.name)

    def save(self, data):
        file = self.folder / "film.dcm"
        data.save_as(file, write_like_original=False)
        return file


class Facts(InFolder):
    def read(self, raw=(), **attributes):
        """`raw` are decimal strings that pydicom itself would refuse to write: (keyword, text)."""
        data = film(VALUES, 12, **attributes)
        for keyword, text in raw:
            tag = pydicom.datadict.tag_for_keyword(keyword)
            data[tag] = pydicom.dataelem.RawDataElement(
                pydicom.tag.Tag(tag), "DS", len(text), text.encode(), 0, False, True)
        return DumpedFilm(self.save(data), self.folder)

    def assert_spacing(self, read, kind, row, column):
        spacing = read.facts["spacing"]
        self.assertEqual((spacing["kind"], spacing["row_mm"], spacing["column_mm"]), (kind, row, column))
        self.assertAlmostEqual(read.facts["row_to_column_aspect"], row / column)
        self.assertEqual(read.facts["notes"], [])
        return spacing

    def test_kinds_of_spacing(self):
        sensor, tooth = [0.03, 0.02], [0.0285, 0.019]
        self.assert_spacing(self.read(PixelSpacing=tooth), "patient", *tooth)
        self.assert_spacing(self.read(ImagerPixelSpacing=sensor), "imager", *sensor)
        self.assert_spacing(self.read(NominalScannedPixelSpacing=sensor), "nominal_scanned", *sensor)
        self.assert_spacing(self.read(PixelSpacing=sensor, ImagerPixelSpacing=sensor), "imager", *sensor)
        self.assert_spacing(self.read(PixelSpacing=tooth, ImagerPixelSpacing=sensor), "calibrated", *tooth)
        self.assert_spacing(self.read(PixelSpacing=sensor, NominalScannedPixelSpacing=sensor), "nominal_scanned", *sensor)
        self.assert_spacing(self.read(PixelSpacing=tooth, NominalScannedPixelSpacing=sensor), "calibrated", *tooth)
        self.assertNotIn("spacing", self.read().facts)

    def test_the_same_spacing_written_twice(self):
        read = self.read(raw=[("PixelSpacing", "0.030000001\\0.02 "), ("ImagerPixelSpacing", "0.03\\0.02 ")])
        self.assert_spacing(read, "imager", 0.030000001, 0.02)

    def test_spacings_that_contradict_each_other_are_told(self):
        # PS3.3 10.7: that of the detector is never altered, and an object before it shows enlarged.
        sensor = [0.03, 0.03]
        for own, contradicted_by in ((0.027, 0), (0.0303, 0), (0.0315, 0.0015), (0.045, 0.015), (0.015, 0.015)):
            with self.subTest(own=own):
                read = self.read(PixelSpacing=[own, own], ImagerPixelSpacing=sensor, PixelSpacingCalibrationType="FIDUCIAL")
                self.assertEqual(read.facts["spacing"]["column_mm"], own)
                self.assertAlmostEqual(read.facts["spacing"]["contradicted_by_mm"], contradicted_by)
                self.assertEqual(read.codes(), ["spacings-contradict"] if contradicted_by else [])
                for note in read.facts["notes"]:
                    self.assertIn("Pixel Spacing (0028,0030) says", note["text"])
                    self.assertIn("Imager Pixel Spacing (0018,1164) 0.0300 mm down and 0.0300 mm across", note["text"])

    def test_calibration(self):
        spacing = self.assert_spacing(
            self.read(PixelSpacing=[0.03, 0.02], ImagerPixelSpacing=[0.03, 0.02],
                      PixelSpacingCalibrationType="FIDUCIAL", PixelSpacingCalibrationDescription="A wire of 20 mm",
                      EstimatedRadiographicMagnificationFactor="1.05"), "calibrated", 0.03, 0.02)
        self.assertEqual(spacing["calibration_type"], "FIDUCIAL")
        self.assertEqual(spacing["calibration_description"], "A wire of 20 mm")
        self.assertEqual(spacing["magnification"], 1.05)

    def test_a_spacing_that_cannot_be_meant_is_left_out_with_a_note(self):
        for text in ("0\\0 ", "-0.02\\0.02", "0.02\\x ", "1.5\\1.5 ", "0.02", "0.02\\0.02\\0.02", "nan\\nan ", "1e-9\\1e-9"):
            with self.subTest(text=text):
                read = self.read(raw=[("PixelSpacing", text)])
                self.assertNotIn("spacing", read.facts)
                self.assertEqual(read.codes(), ["ignored-spacing"])
                self.assertIn("Pixel Spacing (0028,0030)", read.facts["notes"][0]["text"])
        read = self.read(raw=[("PixelSpacing", "0\\0 "), ("ImagerPixelSpacing", "0.03\\0.02 ")])
        self.assertEqual(read.facts["spacing"]["kind"], "imager")
        read = self.read(PixelSpacing=[0.02, 0.02], EstimatedRadiographicMagnificationFactor="0")
        self.assertNotIn("magnification", read.facts["spacing"])
        self.assertEqual(read.codes(), ["ignored-spacing"])

    def test_pixel_aspect_ratio(self):
        read = self.read(PixelAspectRatio=[3, 2])
        self.assertAlmostEqual(read.facts["row_to_column_aspect"], 1.5)
        self.assertNotIn("spacing", read.facts)
        self.assert_spacing(self.read(PixelAspectRatio=[3, 2], ImagerPixelSpacing=[0.03, 0.02]), "imager", 0.03, 0.02)
        read = self.read(PixelAspectRatio=[2, 3], ImagerPixelSpacing=[0.03, 0.02])
        self.assertAlmostEqual(read.facts["row_to_column_aspect"], 1.5)
        self.assertEqual(read.codes(), ["ignored-spacing"])
        self.assertEqual(self.read(PixelAspectRatio=[0, 1]).codes(), ["ignored-spacing"])

    def test_meaning_of_the_grey(self):
        for relationship, response in [("LIN", "linear"), ("LOG", "log"), ("DISP", "display"), ("OTHER", None), ("", None)]:
            read = self.read(PixelIntensityRelationship=relationship)
            self.assertEqual(read.facts.get("response"), response)
        self.assertEqual(self.read(photometric="MONOCHROME2").facts["radiopaque"], "bright")
        self.assertEqual(self.read(photometric="MONOCHROME1").facts["radiopaque"], "dark")

    def test_a_sign_that_contradicts_is_noted_and_does_not_decide(self):
        for photometric, radiopaque, agreeing in [("MONOCHROME2", "bright", -1), ("MONOCHROME1", "dark", 1)]:
            for relationship in ("LIN", "LOG"):
                for sign in (-1, 1):
                    read = self.read(photometric=photometric, PixelIntensityRelationship=relationship,
                                     PixelIntensityRelationshipSign=sign)
                    self.assertEqual(read.facts["radiopaque"], radiopaque)
                    self.assertEqual(read.codes(), [] if sign == agreeing else ["intensity-sign"])
        self.assertEqual(self.read(PixelIntensityRelationship="DISP", PixelIntensityRelationshipSign=1).codes(), [])

    def test_loss_that_the_header_owns_up_to(self):
        self.assertEqual(self.read(LossyImageCompression="01").codes(), ["lossy-compression"])
        self.assertEqual(self.read(LossyImageCompression="00").codes(), [])

    def test_text_that_is_no_text_does_no_harm(self):
        data = film(VALUES, 12, PixelSpacing=[0.02, 0.02], PixelSpacingCalibrationType="FIDUCIAL")
        data[0x00280A04] = pydicom.dataelem.RawDataElement(
            pydicom.tag.Tag(0x00280A04), "LO", 8, b"\xe9\xff\x01\x0a\x00ab ", 0, False, True)
        read = DumpedFilm(self.save(data), self.folder)
        self.assertRegex(read.facts["spacing"]["calibration_description"], r"^[ -~]*$")


class Refused(InFolder):
    """Films whose packed or deflated pixels don't hold what the header says."""
    ENCODERS = {"RLE": ["dcmcrle"], "JPEG lossless": ["dcmcjpeg", "+e1"], "JPEG extended": ["dcmcjpeg", "+ee"],
                "JPEG-LS": ["dcmcjpls", "+el"]}

    def encoded(self, *command):
        packed = self.folder / "packed.dcm"
        subprocess.run([*command, self.save(film(VALUES, 12)), packed], check=True, capture_output=True)
        return packed

    def test_a_size_other_than_the_packed_picture(self):
        for name, command in self.ENCODERS.items():
            for rows, columns in [(62, 47), (60, 47), (61, 48), (9000, 9000), (60000, 60000)]:
                with self.subTest(name=name, rows=rows, columns=columns):
                    data = pydicom.dcmread(self.encoded(*command))
                    data.Rows, data.Columns = rows, columns
                    self.assertIn("film.dcm", refusal_of(self.save(data), self.folder))

    def test_a_frame_cut_off_or_blank(self):
        for name, command in self.ENCODERS.items():
            whole = decode_data_sequence(pydicom.dcmread(self.encoded(*command)).PixelData)[0]
            half = whole[:len(whole) // 2]
            for kind, frame in [("half", half), ("half with an end marker", half + b"\xff\xd9"),
                                ("blank", bytes(len(whole))), ("nearly nothing", b"ab")]:
                with self.subTest(name=name, kind=kind):
                    data = pydicom.dcmread(self.encoded(*command))
                    data.PixelData = encapsulate([frame])
                    data["PixelData"].is_undefined_length = True
                    self.assertIn("Pixel Data (7fe0,0010)", refusal_of(self.save(data), self.folder))

    def test_colour_several_frames_and_tables(self):
        for keyword, value in [("SamplesPerPixel", 3), ("NumberOfFrames", 2), ("PhotometricInterpretation", "RGB")]:
            with self.subTest(keyword=keyword):
                self.assertIn("(0028,", refusal_of(self.save(film(VALUES, 12, **{keyword: value})), self.folder))
        table = pydicom.Dataset()
        table.LUTDescriptor, table.ModalityLUTType, table.LUTData = [2, 0, 16], "US", b"\0\0\1\0"
        line = refusal_of(self.save(film(VALUES, 12, ModalityLUTSequence=[table])), self.folder)
        self.assertIn("(0028,3000)", line)

    def test_a_deflated_film_that_unpacks_without_end(self):
        deflated = self.encoded("dcmconv", "+td").read_bytes()
        begin = 144 + struct.unpack("<I", deflated[140:144])[0]
        body = zlib.decompress(deflated[begin:], -15)
        pack = zlib.compressobj(9, zlib.DEFLATED, -15)
        huge = struct.pack("<HH2sHI", 9, 0x1010, b"OB", 0, 300_000_000)
        file = self.folder / "film.dcm"
        file.write_bytes(deflated[:begin] + pack.compress(huge + bytes(300_000_000) + body) + pack.flush())
        self.assertLess(file.stat().st_size, 1_000_000)
        self.assertIn("unpacks to more", refusal_of(file, self.folder))
        file.write_bytes(deflated[:begin + 900])
        self.assertIn("cut off", refusal_of(file, self.folder))


if __name__ == "__main__":
    unittest.main()
