#include "main_window.hpp"

#include <string>

#include <QAction>
#include <QApplication>
#include <QClipboard>
#include <QFileDialog>
#include <QImage>
#include <QThread>

#include <canalrule/base/refusal.hpp>
#include <canalrule/base/whole_file.hpp>
#include <canalrule/judge/judge.hpp>
#include <canalrule/measure/measure.hpp>
#include <canalrule/report/report.hpp>

#include "scene_painter.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace fs = std::filesystem;

namespace {

std::span<const std::uint8_t> bytes_of(std::string_view text) {
  return {reinterpret_cast<const std::uint8_t*>(text.data()), text.size()};
}

}  // namespace

Identity MainWindow::identity() const { return identity_->isChecked() ? Identity::shown : Identity::hidden; }

bool MainWindow::write(const fs::path& file, std::span<const std::uint8_t> bytes) {
  try {
    write_whole(file, bytes);
  } catch (const Refusal& refusal) {
    tell(QString::fromUtf8(refusal.what()));
    return false;
  }
  tell(tr("Written: %1").arg(qstring(file.string())));
  return true;
}

/// The measurement of the saved reading; where there is none, says why.
std::optional<Result> MainWindow::measured() {
  const std::optional<desk::MeasureAnswer> answer = bench_.measure_saved();
  if (answer && answer->result) return answer->result;
  tell(answer ? said(answer->refused) : tr("Nothing is measured yet: see beside the film what is missing."));
  return std::nullopt;
}

bool MainWindow::save_result(const fs::path& file) {
  const std::optional<Result> result = measured();
  return result && write(file, bytes_of(write_result(*result)));
}

bool MainWindow::save_reading_copy(const fs::path& file) {
  if (!bench_.has_film()) return false;
  bench_.save();
  const std::optional<std::string> reading = bench_.work().reading_text();
  if (!reading) {
    tell(tr("There is no reading yet: it needs a canal with its apex."));
    return false;
  }
  return write(file, bytes_of(*reading));
}

bool MainWindow::save_picture(const fs::path& file) {
  std::optional<Result> result = measured();
  if (!result) return false;
  if (identity() == Identity::hidden) result = without_identity(std::move(*result));
  if (file.extension() == ".svg") return write(file, bytes_of(svg_picture(bench_.film(), *result)));
  return write(file, png_picture(bench_.film(), *result));
}

bool MainWindow::save_report(const fs::path& file) {
  std::optional<Result> result = measured();
  if (!result) return false;
  if (file.extension() == ".txt") {
    if (identity() == Identity::hidden) result = without_identity(std::move(*result));
    return write(file, bytes_of(text_report(*result)));
  }
  std::optional<MeasuredFilm> page = MeasuredFilm{bench_.film(), std::move(*result)};
  const QByteArray pdf = pdf_of([&page] { return std::exchange(page, std::nullopt); }, identity());
  return write(file, bytes_of(std::string_view(pdf.constData(), static_cast<std::size_t>(pdf.size()))));
}

/// One page per film that has been read, made in a thread of its own.
void MainWindow::save_all_reports(const fs::path& file) {
  if (!session_ || (pages_ && pages_->isRunning())) return;
  bench_.save();
  refresh_list();
  std::vector<fs::path> readings;
  for (const desk::SessionFilm& film : session_->films)
    if (film.status == desk::FilmStatus::read) readings.push_back(film.reading);
  if (readings.empty()) return tell(tr("No film of this list has been read yet."));
  tell(tr("Making %1 pages…").arg(readings.size()));
  const auto work = [this, readings, criteria = criteria_, names = identity(), file] {
    std::size_t done = 0, left_out = 0;
    const auto next = [&]() -> std::optional<MeasuredFilm> {
      while (done < readings.size()) {
        try {
          Case opened = open_case(readings[done++]);
          Result result = measure(opened);
          result.judged = judge(result, *criteria);
          return MeasuredFilm{std::move(opened.film), std::move(result)};
        } catch (const Refusal&) {
          ++left_out;
        }
      }
      return std::nullopt;
    };
    const QByteArray pdf = pdf_of(next, names);
    const auto deliver = [this, pdf, file, left_out] {
      if (pdf.isEmpty()) return tell(tr("None of the readings can be measured; nothing was written."));
      const std::string_view bytes(pdf.constData(), static_cast<std::size_t>(pdf.size()));
      if (write(file, bytes_of(bytes)) && left_out > 0)
        tell(tr("Written: %1; %2 readings could not be measured and have no page.")
                 .arg(qstring(file.string())).arg(left_out));
    };
    QMetaObject::invokeMethod(this, deliver, Qt::QueuedConnection);
  };
  pages_.reset(QThread::create(work));
  pages_->start();
}

void MainWindow::ask_where(const QString& title, const QString& ending, const QString& filter,
                           std::function<void(const fs::path&)> then) {
  if (!bench_.has_film()) return tell(tr("Open a film first."));
  auto* dialog = new QFileDialog(this, title);
  dialog->setAttribute(Qt::WA_DeleteOnClose);
  dialog->setAcceptMode(QFileDialog::AcceptSave);
  dialog->setNameFilter(filter);
  // NAME of NAME.reading.json; in a blind pass no name of a file is shown.
  const fs::path reading = bench_.work().reading_file();
  dialog->setDirectory(QString::fromStdString(reading.parent_path().string()));
  const QString stem = blind() ? tr("film-%1").arg(index_.value_or(0) + 1)
                               : QString::fromStdString(reading.stem().stem().string());
  dialog->selectFile(ending.startsWith(QLatin1Char('.')) ? stem + ending : ending);
  connect(dialog, &QFileDialog::fileSelected, this,
          [then = std::move(then)](const QString& file) { then(fs::path(file.toStdString())); });
  dialog->show();
}

void MainWindow::copy_picture() {
  std::optional<Result> result = measured();
  if (!result) return;
  if (identity() == Identity::hidden) result = without_identity(std::move(*result));
  const std::vector<std::uint8_t> png = png_picture(bench_.film(), *result);
  QApplication::clipboard()->setImage(QImage::fromData(png.data(), static_cast<int>(png.size()), "PNG"));
  tell(tr("The picture is on the clipboard."));
}

void MainWindow::copy_report() {
  std::optional<Result> result = measured();
  if (!result) return;
  if (identity() == Identity::hidden) result = without_identity(std::move(*result));
  QApplication::clipboard()->setText(qstring(text_report(*result)));
  tell(tr("The report is on the clipboard."));
}

}  // namespace canalrule::window
