#include "film_list.hpp"

#include <QHeaderView>
#include <QLabel>
#include <QSignalBlocker>
#include <QTableWidget>
#include <QVBoxLayout>

#include "words.hpp"

namespace canalrule::window {

namespace {

enum Column { name_column, status_column, note_column, columns };

/// Sign and word: told apart without colour.
QString status_words(desk::FilmStatus status) {
  switch (status) {
    case desk::FilmStatus::not_read: return FilmList::tr("○ not read");
    case desk::FilmStatus::unfinished: return FilmList::tr("◐ unfinished");
    case desk::FilmStatus::read: return FilmList::tr("● read");
    case desk::FilmStatus::not_assessable: return FilmList::tr("◇ not assessable");
    case desk::FilmStatus::failed: return FilmList::tr("✕ can't be used");
  }
  return {};
}

}  // namespace

FilmList::FilmList(QWidget* parent) : QWidget(parent), films_(new QTableWidget), count_(new QLabel) {
  films_->setColumnCount(columns);
  films_->setHorizontalHeaderLabels({tr("Film"), tr("Status"), tr("Note")});
  films_->setAccessibleName(tr("Films"));
  films_->verticalHeader()->hide();
  films_->horizontalHeader()->setStretchLastSection(true);
  films_->setSelectionBehavior(QAbstractItemView::SelectRows);
  films_->setSelectionMode(QAbstractItemView::SingleSelection);
  films_->setEditTriggers(QAbstractItemView::NoEditTriggers);
  films_->setShowGrid(false);
  films_->setTabKeyNavigation(false);
  films_->setWordWrap(false);
  count_->setObjectName(QStringLiteral("soft"));
  count_->setWordWrap(true);
  auto* layout = new QVBoxLayout(this);
  layout->setContentsMargins(4, 4, 4, 4);
  layout->addWidget(films_, 1);
  layout->addWidget(count_);
  connect(films_, &QTableWidget::currentCellChanged, this, [this](int row, int, int before, int) {
    if (row >= 0 && row != before) Q_EMIT chosen(static_cast<std::size_t>(row));
  });
}

void FilmList::show_session(const std::optional<desk::Session>& session) {
  const QSignalBlocker blocked(films_);
  films_->setRowCount(session ? static_cast<int>(session->films.size()) : 0);
  if (!session) return count_->clear();
  for (std::size_t i = 0; i < session->films.size(); ++i) show_film(*session, i);
  films_->resizeColumnsToContents();
}

void FilmList::show_film(const desk::Session& session, std::size_t index) {
  const QSignalBlocker blocked(films_);
  const desk::SessionFilm& film = session.films[index];
  const QString reason = said(film.reason);
  const QString note = reason.isEmpty() ? qstring(film.note) : reason;
  const QStringList cells{said(desk::shown_name(session, index)), status_words(film.status), note};
  for (int column = 0; column < columns; ++column) {
    auto* item = new QTableWidgetItem(cells[column]);
    item->setToolTip(cells[column]);
    films_->setItem(static_cast<int>(index), column, item);
  }
  show_count(session);
}

void FilmList::set_current(std::optional<std::size_t> index) {
  const QSignalBlocker blocked(films_);
  if (index) {
    films_->setCurrentCell(static_cast<int>(*index), name_column);
  } else {
    films_->clearSelection();
  }
}

void FilmList::show_count(const desk::Session& session) {
  const desk::SessionCount all = desk::count(session);
  count_->setText(tr("%1 films: %2 read, %3 unfinished, %4 not read, %5 not assessable, %6 can't be used")
                      .arg(all.films).arg(all.read).arg(all.unfinished).arg(all.not_read)
                      .arg(all.not_assessable).arg(all.failed));
}

}  // namespace canalrule::window
