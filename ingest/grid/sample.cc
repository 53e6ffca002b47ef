#include "ingest/grid/sample.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <limits>
#include <map>
#include <numeric>
#include <optional>
#include <span>
#include <utility>

#include "core/base/numbers.h"
#include "ingest/format/chunk_reader.h"
#include "ingest/grid/in_order.h"
#include "ingest/grid/sample_chunk.h"

namespace hakea::ingest {
namespace {

// The share of its weight that a value needs (atmosphere 7.4).
constexpr double kLeastShare = 0.5;
constexpr double kRounding = 1e-6;  // of weights, which are float32
constexpr unsigned kThreads = 2;
constexpr std::size_t kRoom = std::size_t{16} << 20;       // bytes of chunks under way
constexpr std::size_t kBatch = std::size_t{512} << 10;     // bytes of chunks decoded as one piece of work
constexpr std::size_t kUndivided = std::size_t{32} << 20;  // bytes of sums below which points are not divided into bands
constexpr std::size_t kSlabValues = std::size_t{256} << 10;

// The indices of one dimension that are wanted, by chunk: where in the chunk, and which of the run's steps, members or levels.
struct Wanted {
  std::size_t within = 0, target = 0;
};
using WantedByChunk = std::map<std::size_t, std::vector<Wanted>>;

struct BandShares {
  std::size_t band = 0, first = 0, end = 0;
};  // shares of one band
struct Tile {
  std::size_t y = 0, x = 0;  // of the chunk, in chunks
  std::vector<BandShares> bands;
  std::vector<std::uint32_t> places;  // by share: of its point in its band
  SharedCells cells;
  bool is_whole = false;  // a share for every place of its only band
};

// How many numbers apart neighbours along a dimension stand in a block of this shape.
std::size_t stride_in(const std::vector<std::size_t>& shape, int dim) {
  if (dim < 0) return 0;
  return std::accumulate(shape.begin() + dim + 1, shape.end(), std::size_t{1}, std::multiplies<>());
}

struct Field {
  std::size_t index;  // of the plan
  const FieldPlan* plan;
  ChunkReader reader;
  std::string where;
  std::vector<std::size_t> shape;
  WantedByChunk times, members, levels;
  std::size_t member_count = 1, level_count = 1;  // of its slabs
  std::vector<double> share;                      // by point: of its sum that is the value, NaN outside the grid
  std::vector<Tile> tiles;
  std::vector<std::vector<std::size_t>> tiles_of_band;  // those read when the band's turn comes

  Field(std::size_t i, const FieldPlan& p, ChunkReader r) : index(i), plan(&p), reader(std::move(r)) {}
  std::size_t chunk_length(int dim) const { return dim < 0 ? 1 : reader.chunk_shape()[static_cast<std::size_t>(dim)]; }
  std::size_t length(int dim) const { return dim < 0 ? 1 : shape[static_cast<std::size_t>(dim)]; }
  std::size_t planes() const { return member_count * level_count; }  // of one step
  // Whether there are chunks for all of them.
  bool has_all_planes() const {
    const auto count = [](std::size_t n, const auto& wanted) { return n + wanted.second.size(); };
    return std::accumulate(members.begin(), members.end(), std::size_t{0}, count) *
               std::accumulate(levels.begin(), levels.end(), std::size_t{0}, count) ==
           planes();
  }
};

// The first index for each target counts; later ones would be added to it.
WantedByChunk wanted_by_chunk(const Field& field, int dim, const std::vector<std::int32_t>& targets, std::size_t limit) {
  WantedByChunk wanted;
  std::vector<bool> taken(limit, false);
  const std::size_t chunk = field.chunk_length(dim), length = field.length(dim);
  for (std::size_t i = 0; i < length; ++i) {
    const std::int32_t target = i < targets.size() ? targets[i] : dim < 0 ? 0 : -1;
    if (target < 0 || static_cast<std::size_t>(target) >= limit || taken[static_cast<std::size_t>(target)]) continue;
    taken[static_cast<std::size_t>(target)] = true;
    wanted[i / chunk].push_back({i % chunk, static_cast<std::size_t>(target)});
  }
  return wanted;
}

// The cells that count for a point.
std::vector<std::size_t> used_cells(const Stencil& stencil, bool nearest) {
  std::vector<std::size_t> used;
  for (std::size_t c = 0; c < static_cast<std::size_t>(stencil.cells); ++c) {
    if (!(stencil.weight[c] > 0)) continue;
    if (nearest && !used.empty()) {
      if (stencil.weight[c] > stencil.weight[used.front()]) used.front() = c;
    } else {
      used.push_back(c);
    }
  }
  return used;
}

Result<Field> open_field(const NetcdfFile& file, std::size_t index, const FieldPlan& plan, const RunShape& run,
                         const std::vector<Stencil>& stencils) {
  auto reader = ChunkReader::open(file, plan.variable);
  if (!reader) return reader.errors();
  Field field(index, plan, std::move(*reader));
  field.where = file.path() + ": " + file.variables()[plan.variable].name;
  field.shape = file.shape_of(plan.variable);
  const auto wrong = [&](std::string what) { return Error{ErrorKind::unsupported, "shape", field.where, std::move(what), ""}; };
  for (int d = 0; d < static_cast<int>(field.shape.size()); ++d) {
    const bool has_role = d == plan.time_dim || d == plan.member_dim || d == plan.level_dim || d == plan.y_dim || d == plan.x_dim;
    if (!has_role && field.length(d) != 1)
      return wrong(fmt::format("dimension {} has {} values and no meaning here", d + 1, field.length(d)));
  }
  field.times = wanted_by_chunk(field, plan.time_dim, plan.step_of_time, run.steps);
  if (plan.member_dim >= 0) field.member_count = std::max<std::size_t>(1, run.members);
  if (core::describe(plan.fed).on_levels) field.level_count = std::max<std::size_t>(1, run.levels);
  field.members = wanted_by_chunk(field, plan.member_dim, plan.member_dim < 0 ? std::vector<std::int32_t>() : plan.member_of,
                                  field.member_count);
  field.levels = wanted_by_chunk(field, plan.level_dim, plan.level_of, field.level_count);
  for (const Stencil& stencil : stencils) {
    double total = 0;
    for (const std::size_t c : used_cells(stencil, plan.nearest)) {
      const bool inside = stencil.y[c] >= 0 && stencil.x[c] >= 0 &&
                          static_cast<std::size_t>(stencil.y[c]) < field.length(plan.y_dim) &&
                          static_cast<std::size_t>(stencil.x[c]) < field.length(plan.x_dim);
      if (!inside) return wrong("its grid is not the one that its coordinates describe");
      total += static_cast<double>(stencil.weight[c]);
    }
    field.share.push_back(total > 0 ? 1 / total : kNaN);
  }
  return field;
}

// The points of one band and their sums, which chunk by chunk are added to: by field of the group and
// (step * members + member) * levels + level, sums[place], none until the first chunk comes and when done.
struct Band {
  std::shared_ptr<const PointList> points;  // neighbours in the grid stand together
  std::vector<std::vector<double>> share;   // by field and place, as in Field
  std::vector<std::vector<Unset<double>>> sums;
  std::vector<std::vector<Lost>> lost;  // by field, plane and place; empty where no cell has been lost
};

// One chunk's way: fetched, then sampled on a worker, then added to the sums.
struct Sampling {
  const Field* field = nullptr;
  std::size_t field_in_group = 0;
  const Tile* tile = nullptr;
  const std::vector<Wanted>*times = nullptr, *members = nullptr, *levels = nullptr;
  StoredChunk stored;
  ChunkSums sampled{};  // [time][member][level][share]
};
// Steps that are read together, for one band of points.
struct Turn {
  std::size_t first_step = 0, last_step = 0, band = 0;
  std::size_t steps() const { return last_step - first_step + 1; }
  bool has(std::size_t step) const { return step >= first_step && step <= last_step; }
};
struct Batch {
  Turn turn;
  std::vector<Sampling> chunks;
  bool ends_turn = false;
  std::optional<Errors> errors;
};

void sample(Sampling& s, ChunkValues& values) {
  const FieldPlan& plan = *s.field->plan;
  const auto stride = [&](int dim) { return stride_in(values.extent, dim); };
  std::vector<std::size_t> planes;
  for (const Wanted& time : *s.times)
    for (const Wanted& member : *s.members)
      for (const Wanted& level : *s.levels)
        planes.push_back(time.within * stride(plan.time_dim) + member.within * stride(plan.member_dim) +
                         level.within * stride(plan.level_dim));
  s.sampled = sample_chunk(values, plan.decoding, s.tile->cells, {stride(plan.y_dim), stride(plan.x_dim)}, planes);
}

// Values of the points of a band from their sums, where nothing was lost; `inside` of them lie in the grid. Written so that the
// compiler makes vector instructions of it, which it does not of one lowest and one highest value that run through all.
void weigh(const double* sums, const std::vector<double>& share, std::size_t inside, float* to, FieldQuality& quality) {
  constexpr std::size_t kLanes = 64;
  std::array<double, kLanes> lowest, highest;
  lowest.fill(std::numeric_limits<double>::infinity());
  highest.fill(-std::numeric_limits<double>::infinity());
  for (std::size_t first = 0; first < share.size(); first += kLanes) {
    const std::size_t count = std::min(kLanes, share.size() - first);
    const double* const part = share.data() + first;
    for (std::size_t i = 0; i < count; ++i) {
      const double value = sums[first + i] * part[i];
      to[first + i] = static_cast<float>(value);
      lowest[i] = value < lowest[i] ? value : lowest[i];
      highest[i] = value > highest[i] ? value : highest[i];
    }
  }
  quality.missing -= inside;
  if (inside == 0) return;
  const double low = *std::min_element(lowest.begin(), lowest.end()), high = *std::max_element(highest.begin(), highest.end());
  // NaN as long as there is none
  quality.lowest = quality.lowest <= low ? quality.lowest : low;
  quality.highest = quality.highest >= high ? quality.highest : high;
}

// The same where cells were lost.
void weigh(const double* sums, const std::vector<double>& share, const Lost* lost, float* to, FieldQuality& quality) {
  for (std::size_t p = 0; p < share.size(); ++p) {
    to[p] = std::numeric_limits<float>::quiet_NaN();
    if (std::isnan(share[p])) continue;
    // The part of its weight that a point has lost.
    const double gone = static_cast<double>(lost[p].missing + lost[p].implausible) * share[p];
    if (1 - gone >= kLeastShare - kRounding) {
      const double value = gone > 0 ? sums[p] * share[p] / (1 - gone) : sums[p] * share[p];
      to[p] = static_cast<float>(value);
      quality.lowest = quality.lowest <= value ? quality.lowest : value;
      quality.highest = quality.highest >= value ? quality.highest : value;
      --quality.missing;
    } else if (lost[p].missing == 0) {
      ++quality.implausible;
    }
  }
}

// Fields that are read together: a surface field alone, or all fields on levels.
class Sweep {
 public:
  Sweep(std::vector<Field>& fields, const std::vector<std::vector<Stencil>>& stencils, std::vector<FieldQuality>& quality,
        const SlabSink& sink, bool step_by_step)
      : fields_(fields), quality_(quality), sink_(sink), step_by_step_(step_by_step) {
    find_blocks();
    divide_points(stencils);
    for (Field& field : fields_) lay_tiles(field, stencils[field.plan->grid]);
  }

  // Chunks of the next turn are fetched while those of the last are still worked on: what comes back in order ends each turn.
  std::optional<Errors> run() {
    InOrder<Batch> work(kThreads, kRoom, [this](Batch&& batch) { add(std::move(batch)); });
    for (const auto& [first, last] : blocks_) {
      for (std::size_t b = 0; b < bands_.size(); ++b) {
        Batch batch{.turn = {first, last, b}, .chunks = {}, .errors = {}};
        for (std::size_t f = 0; f < fields_.size(); ++f) {
          if (auto errors = read(f, batch, work)) return errors;
        }
        batch.ends_turn = true;
        hand_in(std::move(batch), work);
      }
    }
    work.finish();
    return errors_;
  }

 private:
  struct Block {
    std::size_t first = 0, last = 0;
  };  // steps

  // Steps that some chunk holds together belong to one block, so that no chunk is needed twice.
  void find_blocks() {
    for (const Field& field : fields_) {
      for (const auto& [chunk, wanted] : field.times) {
        const auto [low, high] = std::minmax_element(wanted.begin(), wanted.end(),
                                                     [](const Wanted& a, const Wanted& b) { return a.target < b.target; });
        blocks_.push_back({low->target, high->target});
      }
    }
    std::sort(blocks_.begin(), blocks_.end(), [](const Block& a, const Block& b) { return a.first < b.first; });
    std::vector<Block> joined;
    for (const Block& block : blocks_) {
      if (!joined.empty() && block.first <= joined.back().last)
        joined.back().last = std::max(joined.back().last, block.last);
      else
        joined.push_back(block);
    }
    blocks_ = std::move(joined);
  }

  // Points of one row (or column) of chunks form a band, by the field that is divided most; few points stay together.
  void divide_points(const std::vector<std::vector<Stencil>>& stencils) {
    const std::size_t points = fields_.front().share.size();
    std::size_t longest = 0, planes = 0, most = 1;
    for (const Block& block : blocks_) longest = std::max(longest, block.last - block.first + 1);
    const Field* divider = &fields_.front();
    bool along_y = true;
    for (const Field& field : fields_) {
      planes += field.planes();
      for (const bool y : {true, false}) {
        const int dim = y ? field.plan->y_dim : field.plan->x_dim;
        const std::size_t rows = (field.length(dim) + field.chunk_length(dim) - 1) / field.chunk_length(dim);
        if (rows > most) {
          most = rows;
          divider = &field;
          along_y = y;
        }
      }
    }
    const bool divided = points * longest * planes * sizeof(double) > kUndivided;
    // neighbours stand together in a band too, so that memory is walked through in order
    const std::size_t chunk_y = divider->chunk_length(divider->plan->y_dim),
                      chunk_x = divider->chunk_length(divider->plan->x_dim);
    struct Where {
      std::size_t band = 0, tile_y = 0, tile_x = 0;
      std::int32_t y = 0, x = 0, point = 0;
      auto operator<=>(const Where&) const = default;
    };
    std::vector<Where> order;
    for (std::size_t p = 0; p < points; ++p) {
      const Stencil& stencil = stencils[divider->plan->grid][p];
      const auto used = used_cells(stencil, divider->plan->nearest);
      Where where{.point = static_cast<std::int32_t>(p)};
      if (!used.empty()) {
        where.y = stencil.y[used.front()];
        where.x = stencil.x[used.front()];
        where.tile_y = static_cast<std::size_t>(where.y) / chunk_y;
        where.tile_x = static_cast<std::size_t>(where.x) / chunk_x;
        if (divided) where.band = along_y ? where.tile_y : where.tile_x;
      }
      order.push_back(where);
    }
    std::sort(order.begin(), order.end());
    for (std::size_t from = 0; from < order.size();) {
      PointList list;
      const std::size_t band = order[from].band;
      for (; from < order.size() && order[from].band == band; ++from) list.push_back(order[from].point);
      Band& made = bands_.emplace_back();
      for (const Field& field : fields_) {
        std::vector<double>& share = made.share.emplace_back();
        for (const std::int32_t point : list) share.push_back(field.share[static_cast<std::size_t>(point)]);
      }
      made.points = std::make_shared<const PointList>(std::move(list));
      made.sums.resize(fields_.size());
      made.lost.resize(fields_.size());
    }
  }

  void lay_tiles(Field& field, const std::vector<Stencil>& stencils) const {
    const std::size_t chunk_y = field.chunk_length(field.plan->y_dim), chunk_x = field.chunk_length(field.plan->x_dim);
    const std::vector<std::size_t>& shape = field.reader.chunk_shape();
    const Strides strides{stride_in(shape, field.plan->y_dim), stride_in(shape, field.plan->x_dim)};
    std::map<std::pair<std::size_t, std::size_t>, std::size_t> known;
    field.tiles_of_band.resize(bands_.size());
    for (std::size_t b = 0; b < bands_.size(); ++b) {
      for (std::size_t i = 0; i < bands_[b].points->size(); ++i) {
        const Stencil& stencil = stencils[static_cast<std::size_t>((*bands_[b].points)[i])];
        for (const std::size_t c : used_cells(stencil, field.plan->nearest)) {
          const auto y = static_cast<std::size_t>(stencil.y[c]), x = static_cast<std::size_t>(stencil.x[c]);
          const auto [at, is_new] = known.try_emplace({y / chunk_y, x / chunk_x}, field.tiles.size());
          if (is_new) {
            field.tiles.push_back({y / chunk_y, x / chunk_x, {}, {}, SharedCells(strides)});
            field.tiles_of_band[b].push_back(at->second);
          }
          Tile& tile = field.tiles[at->second];
          const auto place = static_cast<std::uint32_t>(i);
          if (tile.bands.empty() || tile.bands.back().band != b)
            tile.bands.push_back({b, tile.places.size(), tile.places.size()});
          if (tile.bands.back().first == tile.places.size() || tile.places.back() != place) {
            tile.places.push_back(place);
            tile.cells.begin_share();
          }
          tile.cells.add({y % chunk_y, x % chunk_x, stencil.weight[c]});
          tile.bands.back().end = tile.places.size();
        }
      }
    }
    for (Tile& tile : field.tiles) {
      tile.cells.lay_out();
      tile.is_whole = tile.bands.size() == 1 && tile.places.size() == bands_[tile.bands.front().band].points->size();
    }
  }

  static void hand_in(Batch&& batch, InOrder<Batch>& work) {
    std::size_t bytes = 0;
    for (const Sampling& s : batch.chunks) bytes += s.field->reader.chunk_bytes();
    work.hand_in(bytes, [batch = std::make_shared<Batch>(std::move(batch))] {
      for (Sampling& s : batch->chunks) {
        auto values = s.field->reader.decode(std::move(s.stored));
        if (!values) {
          batch->errors = values.errors();
          break;
        }
        sample(s, *values);
      }
      return std::move(*batch);
    });
  }

  // Fetches the chunks of a field that the band of this turn is the first to need, and hands in what fills the batch.
  std::optional<Errors> read(std::size_t f, Batch& batch, InOrder<Batch>& work) {
    const Field& field = fields_[f];
    const FieldPlan& plan = *field.plan;
    const Turn turn = batch.turn;
    std::vector<std::size_t> origin(field.shape.size(), 0);
    const auto put = [&](int dim, std::size_t chunk) {
      if (dim >= 0) origin[static_cast<std::size_t>(dim)] = chunk * field.chunk_length(dim);
    };
    for (const auto& [time_chunk, times] : field.times) {
      if (!turn.has(times.front().target)) continue;
      for (const auto& [member_chunk, members] : field.members) {
        for (const auto& [level_chunk, levels] : field.levels) {
          for (const std::size_t t : field.tiles_of_band[turn.band]) {
            const Tile& tile = field.tiles[t];
            put(plan.time_dim, time_chunk);
            put(plan.member_dim, member_chunk);
            put(plan.level_dim, level_chunk);
            put(plan.y_dim, tile.y);
            put(plan.x_dim, tile.x);
            auto stored = field.reader.fetch(origin);
            if (!stored) return stored.errors();
            ++quality_[field.index].chunks;
            batch.chunks.push_back({&field, f, &tile, &times, &members, &levels, std::move(*stored)});
            if (batch.chunks.size() * field.reader.chunk_bytes() >= kBatch) {
              hand_in(std::move(batch), work);
              batch = {.turn = turn, .chunks = {}, .errors = {}};
            }
            if (errors_) return errors_;
          }
        }
      }
    }
    return std::nullopt;
  }

  void add(Batch&& batch) {
    if (batch.errors && !errors_) errors_ = std::move(batch.errors);
    if (errors_) return;
    const Turn& turn = batch.turn;
    for (Sampling& s : batch.chunks) {
      const double* at = s.sampled.sums.data();
      for (const Wanted& time : *s.times) {
        for (const Wanted& member : *s.members) {
          for (const Wanted& level : *s.levels) {
            const std::size_t plane = plane_of(*s.field, time.target - turn.first_step, member, level);
            for (const BandShares& part : s.tile->bands) {
              const std::size_t points = bands_[part.band].points->size();
              std::vector<Unset<double>>& planes = bands_[part.band].sums[s.field_in_group];
              planes.resize(turn.steps() * s.field->planes());
              Unset<double>& to = planes[plane];
              if (to.size() == 0 && s.tile->is_whole && s.sampled.sums.size() == points) {
                to = std::move(s.sampled.sums);  // as if added to zeros, since none of them is -0
                continue;
              }
              if (to.size() == 0) {
                to = Unset<double>(points);
                std::fill_n(to.data(), points, 0.0);
              }
              double* const sums = to.data();
              for (std::size_t i = part.first; i < part.end; ++i) sums[s.tile->places[i]] += *at++;
            }
          }
        }
      }
      add_lost(s, turn);
    }
    if (batch.ends_turn) emit(turn);
  }

  void add_lost(const Sampling& s, const Turn& turn) {
    const std::size_t shares = s.tile->places.size(), levels = s.levels->size(), members = s.members->size();
    for (const auto& [sum, lost] : s.sampled.lost) {
      const std::size_t share = sum % shares, plane = sum / shares;
      const auto part =
          std::find_if(s.tile->bands.begin(), s.tile->bands.end(), [&](const BandShares& b) { return share < b.end; });
      Band& band = bands_[part->band];
      std::vector<Lost>& all = band.lost[s.field_in_group];
      if (all.empty()) all.resize(band.sums[s.field_in_group].size() * band.points->size());
      const std::size_t step = (*s.times)[plane / (levels * members)].target - turn.first_step;
      Lost& to = all[plane_of(*s.field, step, (*s.members)[plane / levels % members], (*s.levels)[plane % levels]) *
                         band.points->size() +
                     s.tile->places[share]];
      to.missing += lost.missing;
      to.implausible += lost.implausible;
    }
  }

  static std::size_t plane_of(const Field& field, std::size_t step, const Wanted& member, const Wanted& level) {
    return (step * field.member_count + member.target) * field.level_count + level.target;
  }

  void emit(const Turn& turn) {
    Band& band = bands_[turn.band];
    const std::size_t steps = turn.steps();
    std::vector<std::vector<bool>> has(fields_.size(), std::vector<bool>(steps, false));
    for (std::size_t f = 0; f < fields_.size(); ++f) {
      for (const auto& [chunk, wanted] : fields_[f].times) {
        for (const Wanted& time : wanted) {
          if (turn.has(time.target)) has[f][time.target - turn.first_step] = true;
        }
      }
    }
    for (std::size_t first = 0; first < steps; first += step_by_step_ ? 1 : steps) {
      const std::size_t end = step_by_step_ ? first + 1 : steps;
      for (std::size_t f = 0; f < fields_.size(); ++f) {
        const std::size_t most =
            step_by_step_
                ? 1
                : std::max<std::size_t>(1, kSlabValues / std::max<std::size_t>(1, fields_[f].planes() * band.points->size()));
        for (std::size_t s = first; s < end;) {
          std::size_t count = 0;
          while (s + count < end && count < most && has[f][s + count]) ++count;
          if (count > 0) {
            fill_slab(band, f, turn.first_step, s, count);
            sink_(std::move(slab_));
          }
          s += std::max<std::size_t>(1, count);
        }
      }
    }
    for (auto& sums : band.sums) sums.clear();
    for (auto& lost : band.lost) std::vector<Lost>().swap(lost);
  }

  // `steps` from `step` on, counted from the first of the turn.
  void fill_slab(const Band& band, std::size_t f, std::size_t first_step, std::size_t step, std::size_t steps) {
    const Field& field = fields_[f];
    const std::size_t points = band.points->size();
    slab_ = {field.index, first_step + step, steps, band.points, field.member_count, field.level_count, std::move(slab_.values)};
    slab_.values.resize(steps * field.planes() * points);
    const auto clear = [](std::span<float> values) {
      std::fill(values.begin(), values.end(), std::numeric_limits<float>::quiet_NaN());
    };
    if (!field.has_all_planes()) clear(slab_.values);
    FieldQuality& quality = quality_[field.index];
    quality.values += slab_.values.size();
    quality.missing += slab_.values.size();  // less those that there are
    const auto inside = static_cast<std::size_t>(
        std::count_if(band.share[f].begin(), band.share[f].end(), [](double share) { return !std::isnan(share); }));
    for (std::size_t s = 0; s < steps; ++s) {
      for (const auto& [member_chunk, members] : field.members) {
        for (const Wanted& member : members) {
          for (const auto& [level_chunk, levels] : field.levels) {
            for (const Wanted& level : levels) {
              const std::size_t from = plane_of(field, step + s, member, level), to = plane_of(field, s, member, level);
              float* const values = slab_.values.data() + to * points;
              if (from >= band.sums[f].size() || band.sums[f][from].size() == 0) {
                clear({values, points});  // none of the points lies in the grid
                continue;
              }
              const double* const sums = band.sums[f][from].data();
              if (band.lost[f].empty())
                weigh(sums, band.share[f], inside, values, quality);
              else
                weigh(sums, band.share[f], band.lost[f].data() + from * points, values, quality);
            }
          }
        }
      }
    }
  }

  std::vector<Field>& fields_;
  std::vector<FieldQuality>& quality_;
  const SlabSink& sink_;
  bool step_by_step_;
  std::vector<Block> blocks_;
  std::vector<Band> bands_;
  std::optional<Errors> errors_;
  Slab slab_;
};

}  // namespace

Result<std::vector<FieldQuality>> read_fields(const std::vector<const NetcdfFile*>& files, const std::vector<FieldPlan>& plans,
                                              const std::vector<std::size_t>& which,
                                              const std::vector<std::vector<Stencil>>& stencils, const RunShape& run,
                                              const SlabSink& sink) {
  std::vector<FieldQuality> quality(plans.size(), FieldQuality{.lowest = kNaN, .highest = kNaN});
  const auto sweep = [&](const std::vector<std::size_t>& together, bool step_by_step) -> std::optional<Errors> {
    std::vector<Field> fields;
    for (const std::size_t index : together) {
      const FieldPlan& plan = plans[index];
      HAKEA_EXPECT(files.at(plan.file) != nullptr);
      auto field = open_field(*files[plan.file], index, plan, run, stencils.at(plan.grid));
      if (!field) return field.errors();
      fields.push_back(std::move(*field));
    }
    if (fields.empty() || fields.front().share.empty()) return std::nullopt;
    return Sweep(fields, stencils, quality, sink, step_by_step).run();
  };
  std::vector<std::size_t> on_levels;
  for (const std::size_t index : which) {
    if (core::describe(plans[index].fed).on_levels)
      on_levels.push_back(index);
    else if (auto errors = sweep({index}, false))
      return *errors;
  }
  if (auto errors = sweep(on_levels, true)) return *errors;
  return quality;
}

}  // namespace hakea::ingest
