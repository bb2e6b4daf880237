#include "main_window.hpp"

#include <algorithm>

#include <QCheckBox>
#include <QDockWidget>
#include <QDropEvent>
#include <QFileDialog>
#include <QLabel>
#include <QLineEdit>
#include <QMimeData>
#include <QPushButton>

#include <canalrule/base/refusal.hpp>
#include <canalrule/intake/open_film.hpp>

#include "film_list.hpp"
#include "film_view.hpp"
#include "scale_card.hpp"
#include "words.hpp"

namespace canalrule::window {

namespace fs = std::filesystem;

void MainWindow::tell(const QString& words) {
  told_->setText(words);
  take_over_->setVisible(bench_.has_film() && bench_.work().marks_set_aside().has_value());
  told_bar_->setVisible(!words.isEmpty());
}

void MainWindow::dragEnterEvent(QDragEnterEvent* event) {
  if (event->mimeData()->hasUrls() && event->mimeData()->urls().front().isLocalFile()) event->acceptProposedAction();
}

void MainWindow::dropEvent(QDropEvent* event) {
  open(event->mimeData()->urls().front().toLocalFile().toStdString());
  event->acceptProposedAction();
}

/// What the desk has to say about the film that was just opened.
void MainWindow::tell_what_happened() {
  QStringList all;
  for (const desk::Sentence& each : bench_.work().happened()) {
    // In a blind pass no file is named.
    const std::vector<std::string> hidden(each.arguments.size(), "…");
    all << said(blind() ? desk::Sentence{each.text, hidden} : each);
  }
  tell(all.join(QLatin1Char('\n')));
}

bool MainWindow::open(const fs::path& what) { return open_in(what, std::nullopt); }

/// A line that somebody still types in counts as entered, for the film that it was typed at.
void MainWindow::finish_typing() {
  if (QWidget* typing = focusWidget()) typing->clearFocus();
}

/// `index`: which of its films comes first; else the first that isn't done.
bool MainWindow::open_in(const fs::path& what, std::optional<std::size_t> index) {
  std::optional<desk::Session> opened;
  try {
    opened = desk::open_session(what, saving_);
  } catch (const Refusal& refusal) {
    tell(QString::fromUtf8(refusal.what()));
    return false;
  }
  finish_typing();
  bench_.close();
  session_ = std::move(opened);
  index_.reset();
  const bool many = session_->films.size() > 1;
  list_->show_session(session_);
  list_dock_->setVisible(many || blind());
  if (!index) {
    const auto open_still = [](const desk::SessionFilm& film) {
      return film.status == desk::FilmStatus::not_read || film.status == desk::FilmStatus::unfinished;
    };
    const auto first = std::find_if(session_->films.begin(), session_->films.end(), open_still);
    index = first == session_->films.end() ? 0 : static_cast<std::size_t>(first - session_->films.begin());
  }
  const std::size_t first = std::min(*index, session_->films.size() - 1);
  open_film(first);
  return index_ == first && bench_.has_film();
}

void MainWindow::open_film(std::size_t index) {
  if (!session_ || index >= session_->films.size()) return;
  finish_typing();
  const desk::SessionFilm& film = session_->films[index];
  bench_.save();
  QString trouble;
  if (film.film.empty()) {
    trouble = said(film.reason);
  } else {
    const desk::ToOpen to_open = desk::to_open(*session_, index);
    try {
      bench_.open(to_open.film_or_reading, to_open.saving);
    } catch (const Refusal& refusal) {
      const bool hidden = blind();
      trouble = QString::fromStdString(hidden ? refusal.problem() + "; " + refusal.remedy() : refusal.what());
    }
  }
  if (index_ && *index_ != index) {
    desk::refresh(*session_, *index_);
    list_->show_film(*session_, *index_);
  }
  if (!trouble.isEmpty()) bench_.close();
  index_ = index;
  list_->set_current(index);
  film_->show_film(bench_.has_film() ? std::optional(bench_.film()) : std::nullopt);
  if (bench_.has_film() && !bench_.drawing().canals.empty())
    film_->set_tone(desk::automatic_tone(bench_.film(), bench_.drawing()));
  show_title();
  show_drawing();
  if (trouble.isEmpty()) {
    tell_what_happened();
    if (saving_.reader.empty()) reader_->setText(qstring(bench_.work().reader()));
    film_->setFocus();
  } else {
    tell(trouble);
  }
}

void MainWindow::go_to(std::optional<std::size_t> index) {
  if (index) return open_film(*index);
  tell(tr("There is no further film."));
}

void MainWindow::refresh_list() {
  if (!session_ || !index_ || session_->films.size() < 2) return;
  desk::refresh(*session_, *index_);
  list_->show_film(*session_, *index_);
}

/// The same films under another reader, in another folder, or in another order.
void MainWindow::reopen() {
  if (!session_) return;
  const fs::path source = session_->source;
  const std::optional<std::size_t> index = blind() ? std::nullopt : index_;
  open_in(source, index);
}

void MainWindow::change_reader() {
  const std::string reader = reader_->text().trimmed().toStdString();
  if (reader == saving_.reader) return;
  bench_.save();
  saving_.reader = reader;
  reopen();
}

void MainWindow::change_blind() {
  bool number = false;
  const std::uint64_t seed = seed_->text().trimmed().toULongLong(&number);
  if (blind_->isChecked() && !number) return tell(tr("The seed of a blind pass is a whole number from 0 up."));
  const std::optional<std::uint64_t> wanted = blind_->isChecked() ? std::optional(seed) : std::nullopt;
  if (wanted == saving_.blind_seed) return;
  bench_.save();
  saving_.blind_seed = wanted;
  reopen();
}

void MainWindow::ask_for_other_film(std::size_t mark) {
  auto* dialog = new QFileDialog(this, tr("The film that shows the file, or its reading"));
  dialog->setAttribute(Qt::WA_DeleteOnClose);
  dialog->setFileMode(QFileDialog::ExistingFile);
  dialog->setDirectory(QString::fromStdString(bench_.work().film_file().parent_path().string()));
  connect(dialog, &QFileDialog::fileSelected, this,
          [this, mark](const QString& file) { set_other_film(mark, file.toStdString()); });
  dialog->show();
}

bool MainWindow::set_other_film(std::size_t mark, const fs::path& film_or_reading) {
  if (!bench_.has_film() || mark >= bench_.drawing().scale.size()) return false;
  fs::path reading = film_or_reading;
  if (film_or_reading.extension() != ".json") {
    desk::Saving anywhere = saving_;
    anywhere.blind_seed.reset();
    try {
      const desk::ReadingFile found =
          desk::reading_file_of(film_or_reading, canalrule::open_film(film_or_reading).sha256, anywhere);
      if (!found.exists) {
        tell(tr("%1 has no reading yet. Open it first, mark the file and the canal on it, then carry its scale over.")
                 .arg(qstring(film_or_reading.filename().string())));
        return false;
      }
      reading = found.file;
    } catch (const Refusal& refusal) {
      tell(QString::fromUtf8(refusal.what()));
      return false;
    }
  }
  const desk::Drawing& drawing = bench_.drawing();
  const std::string whole = fs::absolute(reading).lexically_normal().string();
  bench_.edit(desk::set_scale_from(drawing, mark, whole, drawing.scale[mark].from_points));
  return true;
}

/// Shows the film that the scale is carried over from, beside this one, as long as there is such a mark.
void MainWindow::show_other_film() {
  fs::path wanted;
  for (const desk::ScaleDrawn& mark : bench_.drawing().scale)
    if (mark.kind == desk::ScaleDrawn::Kind::carried && !mark.from_reading.empty()) wanted = mark.from_reading;
  if (wanted == other_file_) return;
  other_file_ = wanted;
  other_box_->setVisible(!wanted.empty());
  if (wanted.empty()) return other_->show_film(std::nullopt);
  try {
    const Reading reading = load_reading(wanted);
    other_->show_film(canalrule::open_film(wanted.parent_path() / reading.image.file));
    other_name_->setText(blind() ? tr("The film that the scale comes from")
                                 : tr("The scale comes from %1").arg(qstring(reading.image.file)));
  } catch (const Refusal& refusal) {
    other_->show_film(std::nullopt);
    other_->set_empty_text(QString::fromUtf8(refusal.what()).toHtmlEscaped());
    other_name_->setText(tr("The other film can't be shown"));
  }
}

}  // namespace canalrule::window
