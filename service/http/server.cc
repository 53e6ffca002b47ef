// The only file that sees Asio and Beast; head.cc takes the words of statuses from Beast. One thread does all input and output,
// so that nothing of it needs a lock; one worker calls the handlers of reads and one those of writes, since a write waits for
// the disk and for what it makes the engine judge; a third calls those that take long. What is at hand is answered without any
// of them: two threads that hand a request to each other cost more than the answer.
//
// A session is one coroutine: first bytes, header, body, handler, answer, and again while the connection is kept. The
// compiler may destroy temporaries of a co_await expression twice (GCC bug 101367), so whatever it needs gets a name first,
// parameters come by value and no lambda is a coroutine.
#include "service/http/server.h"

#include <fmt/format.h>
#include <spdlog/spdlog.h>
#include <sys/resource.h>

#include <algorithm>
#include <array>
#include <atomic>
#include <boost/asio.hpp>
#include <boost/beast/core/buffers_suffix.hpp>
#include <boost/beast/core/flat_buffer.hpp>
#include <boost/beast/http.hpp>
#include <future>
#include <map>
#include <random>
#include <set>
#include <thread>

#include "core/base/words.h"
#include "service/access/secret.h"
#include "service/base/clock.h"
#include "service/http/forwarded.h"
#include "service/http/head.h"
#include "service/http/kept_file.h"
#include "service/http/problem.h"
#include "service/http/target.h"

namespace hakea::service {
namespace {

namespace asio = boost::asio;
namespace beast = boost::beast;
namespace http = boost::beast::http;
using tcp = asio::ip::tcp;
using boost::system::error_code;

constexpr std::size_t kFirstBytes = 4096;
constexpr std::size_t kLingerBytes = 4 * 1024 * 1024;  // of a refused body, read so that the answer arrives
constexpr int kLingerSeconds = 3;
constexpr int kStreamSeconds = 10;  // a piece of an answer that goes on must be taken within them
constexpr int kStreams = 200;
constexpr std::size_t kSmallBody = 16 * 1024;   // bodies up to this size are always taken
constexpr std::size_t kKeptBuffer = 16 * 1024;  // what a connection that waits may hold

constexpr std::size_t kMostAtOnce = 64 * 1024;

using Parser = http::request_parser<http::string_body>;

struct Session {
  explicit Session(tcp::socket accepted) : socket(std::move(accepted)) {}

  // What is awaited next must end within so many seconds; afterwards `is_out_of_time` says whether it did not.
  void allow(int seconds) {
    is_out_of_time = false;
    deadline = moment_now() + std::chrono::seconds(seconds);
  }
  void stop_the_clock() { deadline = kNever; }
  void look_at_the_clock(Moment now) {
    if (now < deadline) return;
    is_out_of_time = true;
    error_code ignored;
    socket.cancel(ignored);  // again at the next look, should nothing have waited just now
  }

  static constexpr auto kNever = Moment::max();
  tcp::socket socket;
  std::string head;  // of the answer that is being sent
  Moment deadline = kNever;
  beast::flat_buffer buffer;
  std::string address;
  bool is_loopback = false;
  bool is_idle = true;  // between requests
  bool is_out_of_time = false;
};

// What a caller may name a request: short and harmless in a log.
bool is_request_id(std::string_view id) {
  return !id.empty() && without_secrets(id) == id && id.size() <= 64 && std::all_of(id.begin(), id.end(), [](char c) {
    return (c >= '0' && c <= '9') || (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || c == '-' || c == '_' || c == '.';
  });
}

// So many connections at once as are wanted and descriptors allow. The limit that a shell hands on is raised as far as the
// system lets us; some are left for files, the store and the reader child.
int connections_allowed(int wanted) {
  constexpr rlim_t kForOthers = 192;
  rlimit limit{};
  if (getrlimit(RLIMIT_NOFILE, &limit) != 0) return wanted;
  const rlim_t needed = static_cast<rlim_t>(wanted) + kForOthers;
  if (limit.rlim_cur < needed) {
    rlimit raised = limit;
    raised.rlim_cur = std::min(needed, limit.rlim_max);
    if (setrlimit(RLIMIT_NOFILE, &raised) == 0) limit = raised;
  }
  const rlim_t left = limit.rlim_cur > 2 * kForOthers ? limit.rlim_cur - kForOthers : limit.rlim_cur / 2;
  return static_cast<int>(std::min(static_cast<rlim_t>(wanted), left));
}

// What is wrong with a request that could not be read.
Problem problem_of_reading(error_code failed, bool is_out_of_time, const ServerSettings& settings) {
  if (is_out_of_time)
    return {408,
            "request_timeout",
            "The request took too long",
            fmt::format("a request must arrive whole within {} s", settings.seconds_for_request),
            {}};
  if (failed == http::error::header_limit || failed == http::error::buffer_overflow)
    return {431,
            "header_too_large",
            "The header of the request is too large",
            fmt::format("request line and header fields may have {} bytes together", settings.header_bytes),
            {}};
  if (failed == http::error::body_limit)
    return {413,
            "body_too_large",
            "The body of the request is too large",
            fmt::format("a body may have {} bytes", settings.body_bytes),
            {}};
  if (failed == asio::error::no_buffer_space)
    return {503, "busy", "Too much is being sent at once", "send the body again in a moment", {}};
  return {400, "bad_request", "This is no HTTP/1.1 request", failed.message(), {}};
}

class BeastServer final : public Server {
 public:
  BeastServer(ServerSettings settings, Handlers handlers) : settings_(std::move(settings)), handlers_(std::move(handlers)) {
    id_prefix_ = fmt::format("{:08x}", std::random_device()());
  }
  ~BeastServer() override { stop(0); }

  // Opens the port and begins; an Error instead when that is not possible.
  std::optional<Error> listen() {
    error_code failed;
    const auto address = asio::ip::make_address(settings_.address, failed);
    const tcp::endpoint endpoint(address, static_cast<std::uint16_t>(settings_.port));
    if (!failed) acceptor_.open(endpoint.protocol(), failed);
    if (!failed) acceptor_.set_option(asio::socket_base::reuse_address(true), failed);
    if (!failed) acceptor_.bind(endpoint, failed);
    if (!failed) acceptor_.listen(asio::socket_base::max_listen_connections, failed);
    const std::string where = fmt::format("{}:{}", settings_.address, settings_.port);
    if (failed == asio::error::address_in_use)
      return Error{ErrorKind::failed, "address_in_use", where, "another program listens there",
                   "stop that program or choose another port"};
    if (failed)
      return Error{ErrorKind::failed, "cannot_listen", where, failed.message(),
                   "give an address of this machine and a free port"};
    port_ = acceptor_.local_endpoint().port();
    connections_ = static_cast<std::size_t>(connections_allowed(settings_.connections));
    asio::co_spawn(io_, accept_all(), asio::detached);
    asio::co_spawn(io_, beat(), asio::detached);
    thread_ = std::thread([this] {
      io_.run();
      ended_.set_value();
    });
    return std::nullopt;
  }

  int port() const override { return port_; }
  std::uint64_t heartbeat() const override { return beats_; }
  int streams() const override { return streams_; }

  void stop(int seconds) override {
    if (!thread_.joinable()) return;
    asio::post(io_, [this] {
      is_stopping_ = true;
      error_code ignored;
      acceptor_.close(ignored);
      retry_.cancel();
      pulse_.cancel();
      for (Session* session : sessions_)
        if (session->is_idle) session->socket.close(ignored);
    });
    // The thread ends by itself when the last session has.
    ended_.get_future().wait_for(std::chrono::seconds(seconds));
    io_.stop();
    thread_.join();
    for (asio::thread_pool* workers : {&readers_, &writers_, &thinkers_}) {
      workers->stop();
      workers->join();
    }
  }

 private:
  asio::awaitable<void> accept_all() {
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    while (!is_stopping_) {
      tcp::socket socket(io_);
      co_await acceptor_.async_accept(socket, token);
      if (is_stopping_) break;
      if (!failed) {
        admit(std::move(socket));
      } else if (failed != asio::error::connection_aborted) {  // out of descriptors: some will come free
        retry_.expires_after(std::chrono::milliseconds(100));
        co_await retry_.async_wait(token);
      }
    }
  }

  // Every second, until the last session has ended. One look at all sessions costs less than a timer of each, which every
  // request would set and stop three times.
  asio::awaitable<void> beat() {
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    while (!is_stopping_ || !sessions_.empty()) {
      ++beats_;
      const auto now = moment_now();
      for (Session* session : sessions_) session->look_at_the_clock(now);
      pulse_.expires_after(std::chrono::milliseconds(is_stopping_ ? 50 : 1000));
      co_await pulse_.async_wait(token);
    }
  }

  void admit(tcp::socket socket) {
    error_code failed;
    const auto peer = socket.remote_endpoint(failed);
    if (failed) return;
    auto address = peer.address();
    if (address.is_v6() && address.to_v6().is_v4_mapped())
      address = asio::ip::make_address_v4(asio::ip::v4_mapped, address.to_v6());
    const std::string from = address.to_string();
    const auto of_address = by_address_.find(from);
    const bool is_one_too_many = of_address != by_address_.end() && of_address->second >= settings_.connections_per_address;
    const bool is_proxy = std::find(settings_.proxies.begin(), settings_.proxies.end(), from) != settings_.proxies.end();
    if (sessions_.size() >= connections_ || (is_one_too_many && !is_proxy)) {
      turn_away(std::move(socket));
      return;
    }
    socket.set_option(tcp::no_delay(true), failed);
    socket.non_blocking(true, failed);
    const auto session = std::make_shared<Session>(std::move(socket));
    session->address = from;
    session->is_loopback = address.is_loopback();
    asio::co_spawn(io_, serve(session), asio::detached);
  }

  // A fresh connection takes a few hundred bytes without waiting.
  void turn_away(tcp::socket socket) {
    Response answer = problem_response(
        {503, "too_many_connections", "Too many connections are open", "close some, or come back in a moment", {}}, "");
    answer.headers.emplace_back("Retry-After", "5");
    std::string text;
    write_head(text, answer, {.keeps = false});
    text += answer.body;
    error_code ignored;
    socket.non_blocking(true, ignored);
    socket.write_some(asio::buffer(text), ignored);
    socket.shutdown(tcp::socket::shutdown_send, ignored);
  }

  // Counts the session for as long as its coroutine lives.
  struct Presence {
    Presence(BeastServer& server, Session& session) : server_(server), session_(session) {
      server_.sessions_.insert(&session_);
      ++server_.by_address_[session_.address];
    }
    ~Presence() {
      server_.sessions_.erase(&session_);
      const auto found = server_.by_address_.find(session_.address);
      if (--found->second == 0) server_.by_address_.erase(found);
    }
    Presence(const Presence&) = delete;
    Presence& operator=(const Presence&) = delete;
    BeastServer& server_;
    Session& session_;
  };

  // Holds the room that a body on its way may take.
  class Room {
   public:
    explicit Room(std::size_t& taken) : taken_(taken) {}
    ~Room() { taken_ -= mine_; }
    Room(const Room&) = delete;
    Room& operator=(const Room&) = delete;
    // False when so much is on its way already that a large one has to wait.
    bool take(std::size_t bytes, std::size_t most) {
      if (bytes <= kSmallBody) return true;
      if (taken_ + bytes > most) return false;
      mine_ = bytes;
      taken_ += bytes;
      return true;
    }

   private:
    std::size_t& taken_;
    std::size_t mine_ = 0;
  };

  asio::awaitable<void> serve(std::shared_ptr<Session> session) {
    const Presence presence(*this, *session);
    bool goes_on = true;
    while (goes_on) {
      if (session->buffer.size() == 0) {
        const bool has_come = co_await first_bytes(session);
        if (!has_come) co_return;
      }
      session->is_idle = false;
      goes_on = co_await exchange(session);
      session->is_idle = true;
      if (session->buffer.size() == 0 && session->buffer.capacity() > kKeptBuffer) session->buffer.shrink_to_fit();
      if (is_stopping_) goes_on = false;
    }
    error_code ignored;
    session->socket.shutdown(tcp::socket::shutdown_both, ignored);
  }

  // Waits for a request to begin; false when none does.
  asio::awaitable<bool> first_bytes(std::shared_ptr<Session> session) {
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    session->allow(settings_.seconds_idle);
    const auto room = session->buffer.prepare(kFirstBytes);
    const std::size_t came = co_await session->socket.async_read_some(room, token);
    session->buffer.commit(came);
    co_return !failed && came > 0;
  }

  // Reads on until the header, or the whole request, is there; what went wrong where that does not happen. Bytes that keep
  // coming one by one never leave a read waiting that the clock could cancel: so it is looked at between reads too.
  static asio::awaitable<error_code> read(std::shared_ptr<Session> session, Parser& parser, bool is_whole) {
    beast::flat_buffer& buffer = session->buffer;
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    parser.eager(is_whole);
    while (!(is_whole ? parser.is_done() : parser.is_header_done())) {
      if (session->is_out_of_time) co_return asio::error::timed_out;
      const std::size_t used = parser.put(buffer.data(), failed);
      buffer.consume(used);
      if (failed && failed != http::error::need_more) co_return failed;
      if (!failed && used > 0) continue;
      const std::size_t size = beast::read_size(buffer, kMostAtOnce);
      if (size == 0) co_return http::error::buffer_overflow;
      const auto room = buffer.prepare(size);
      buffer.commit(co_await session->socket.async_read_some(room, token));
      if (failed == asio::error::eof) {
        if (!parser.got_some()) co_return http::error::end_of_stream;
        parser.put_eof(failed);
        if (parser.is_done()) break;
      }
      if (failed) co_return failed;
    }
    co_return error_code{};
  }

  // One request and its answer; false when the connection ends with it.
  asio::awaitable<bool> exchange(std::shared_ptr<Session> session) {
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    Parser parser;
    parser.header_limit(static_cast<std::uint32_t>(settings_.header_bytes));
    parser.body_limit(settings_.body_bytes);
    session->buffer.max_size(settings_.header_bytes + settings_.body_bytes + kFirstBytes);
    session->allow(settings_.seconds_for_request);
    failed = co_await read(session, parser, false);
    Room room(body_bytes_);
    const auto length = parser.is_header_done() ? parser.content_length() : boost::none;
    const std::size_t body = length ? *length : parser.is_header_done() && parser.chunked() ? settings_.body_bytes : 0;
    const bool is_crowded = !failed && !room.take(body, settings_.body_bytes_together);
    if (is_crowded) failed = asio::error::no_buffer_space;
    if (!failed && lower(parser.get()[http::field::expect]) == "100-continue") {
      constexpr std::string_view kContinue = "HTTP/1.1 100 Continue\r\n\r\n";
      const auto bytes = asio::buffer(kContinue.data(), kContinue.size());
      co_await asio::async_write(session->socket, bytes, token);
    }
    if (!failed) failed = co_await read(session, parser, true);
    const bool is_out_of_time = session->is_out_of_time;
    session->stop_the_clock();

    Response answer;
    const bool is_refused = failed.failed();
    bool keeps = false, is_head = false;
    bool is_http_1_0 = false;
    if (is_refused) {
      const bool is_gone = !is_out_of_time && (failed == http::error::end_of_stream || failed == http::error::partial_message ||
                                               failed.category() == asio::error::get_system_category());
      if (is_gone && !is_crowded) co_return false;
      const std::string id = next_id();
      answer = problem_response(problem_of_reading(failed, is_out_of_time, settings_), id);
      answer.headers.emplace_back("X-Request-Id", id);
      if (answer.status == 503) answer.headers.emplace_back("Retry-After", "5");
    } else {
      is_http_1_0 = parser.get().version() < 11;
      keeps = parser.get().keep_alive() && !is_stopping_;
      is_head = parser.get().method() == http::verb::head;
      Request request = request_of(*session, parser.get());
      if (auto mistake = mistake_of(request, parser.get()))
        answer = *std::move(mistake);
      else if (auto known = at_hand(request))
        answer = *std::move(known);
      else
        answer = co_await worked_out(&request);
      answer.headers.emplace_back("X-Request-Id", std::move(request.request_id));
    }
    if (answer.more && !is_head && streams_ < kStreams) {
      co_await go_on(session, std::move(answer));
      co_return false;
    }
    if (answer.more && !is_head) answer = one_stream_too_many(answer);
    if (is_stopping_) keeps = false;
    std::string& head = session->head;
    head.clear();
    write_head(head, answer, {.is_http_1_0 = is_http_1_0, .keeps = keeps});
    const bool has_body = !is_head && answer.has_body();
    const std::array<asio::const_buffer, 2> all{asio::buffer(head),
                                                has_body ? asio::buffer(answer.bytes()) : asio::const_buffer()};
    const std::size_t sent = has_body && answer.kept_file ? sent_as_file(session->socket, head, *answer.kept_file, failed)
                                                          : session->socket.write_some(all, failed);  // mostly everything
    if (failed == asio::error::would_block) failed.clear();
    if (!failed && sent < asio::buffer_size(all)) {
      beast::buffers_suffix<std::array<asio::const_buffer, 2>> rest(all);
      rest.consume(sent);
      session->allow(settings_.seconds_idle);
      co_await asio::async_write(session->socket, rest, token);
      session->stop_the_clock();
    }
    if (failed) co_return false;
    if (is_refused) co_await linger(session);
    co_return keeps;
  }

  // As much as the socket takes of head and bytes.
  static std::size_t sent_as_file(tcp::socket& socket, const std::string& head, const KeptFile& file, error_code& failed) {
    constexpr int kMoreComes = MSG_MORE;  // so that both leave together
    const std::size_t sent = socket.send(asio::buffer(head), kMoreComes, failed);
    return failed || sent < head.size() ? sent : sent + file.send_to(socket.native_handle());
  }

  static Response one_stream_too_many(const Response& wanted) {
    const std::string id(wanted.header("X-Request-Id"));
    Response answer = problem_response(
        {503, "too_many_streams", "Too many streams are open", fmt::format("{} may be; come back in a moment", kStreams), {}},
        id);
    answer.headers = {{"X-Request-Id", id}, {"Retry-After", "30"}};
    return answer;
  }

  // An answer that goes on until one of us ends it. It has no length: its end is that of the connection.
  asio::awaitable<void> go_on(std::shared_ptr<Session> session, Response answer) {
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    ++streams_;
    std::string piece;
    write_head(piece, answer, {.keeps = false});
    asio::steady_timer pause(session->socket.get_executor());
    bool goes_on = true;
    while (goes_on && !failed) {
      if (!piece.empty()) {
        session->allow(kStreamSeconds);
        const auto bytes = asio::buffer(piece);
        co_await asio::async_write(session->socket, bytes, token);
        session->stop_the_clock();
      }
      if (failed || is_stopping_) break;
      auto work = next_piece(&answer);
      const std::optional<std::string> next = co_await asio::co_spawn(readers_, std::move(work), asio::use_awaitable);
      goes_on = next.has_value();
      piece = next.value_or("");
      if (!goes_on || !piece.empty()) continue;
      pause.expires_after(std::chrono::seconds(1));
      co_await pause.async_wait(token);
    }
    --streams_;
  }

  // Runs on a worker. The caller keeps what the pointer points to.
  static asio::awaitable<std::optional<std::string>> next_piece(const Response* answer) {
    try {
      co_return answer->more();
    } catch (const std::exception&) {
      co_return std::nullopt;
    }
  }

  Request request_of(const Session& session, http::request<http::string_body>& message) {
    Request request;
    request.method = std::string(message.method_string());
    request.is_loopback = session.is_loopback;
    for (const auto& field : message) {
      std::string& value = request.headers[lower(field.name_string())];
      if (!value.empty()) value += ", ";
      value += std::string_view(field.value().data(), field.value().size());
    }
    request.address = caller_address(settings_.proxies, session.address, request.header("x-forwarded-for"));
    const std::string_view named = request.header("x-request-id");
    request.request_id = is_request_id(named) ? std::string(named) : next_id();
    request.body = std::move(message.body());
    return request;
  }

  // Gives the request its target. The answer that refuses it where something of it is wrong.
  static std::optional<Response> mistake_of(Request& request, const http::request<http::string_body>& message) {
    Result<Target> target = parse_target({message.target().data(), message.target().size()});
    if (!target)
      return problem_response({400, target.error().code, "The target of the request is wrong", target.error().what, {}},
                              request.request_id);
    if (const auto hosts = message.count(http::field::host); hosts > 1 || (hosts == 0 && message.version() >= 11))
      return problem_response({400, "no_host", "The request does not name one host", "send one Host header (RFC 9112 §3.2)", {}},
                              request.request_id);
    if (const std::string_view coding = request.header("transfer-encoding"); !coding.empty() && lower(coding) != "chunked")
      return problem_response({501, "transfer_coding", "This transfer coding is not known", "send the body plain or chunked", {}},
                              request.request_id);
    request.path = std::move(target->path);
    request.query = std::move(target->query);
    return std::nullopt;
  }

  std::optional<Response> at_hand(const Request& request) const {
    try {
      return handlers_.at_once ? handlers_.at_once(request) : std::nullopt;
    } catch (const std::exception&) {
      return std::nullopt;  // a worker comes upon it too, and says what it was
    }
  }

  // The caller keeps what the pointer points to.
  asio::awaitable<Response> worked_out(const Request* request) {
    const bool is_read = request->method == "GET" || request->method == "HEAD";
    asio::thread_pool& workers = handlers_.takes_long && handlers_.takes_long(*request) ? thinkers_
                                 : is_read                                              ? readers_
                                                                                        : writers_;
    auto work = handled(&handlers_.respond, request);
    co_return co_await asio::co_spawn(workers, std::move(work), asio::use_awaitable);
  }

  // Runs on a worker. The caller keeps what the pointers point to.
  static asio::awaitable<Response> handled(const Respond* respond, const Request* request) {
    try {
      co_return (*respond)(*request);
    } catch (const std::exception& mistake) {
      spdlog::error("A mistake of the service: {}", mistake.what());
      co_return problem_response(
          {500, "internal", "Something went wrong on our side", "the log has it under this request_id", {}}, request->request_id);
    }
  }

  // Reads what a refused caller still sends: closing at once would make its system throw our answer away.
  asio::awaitable<void> linger(std::shared_ptr<Session> session) {
    error_code failed;
    auto token = asio::redirect_error(asio::use_awaitable, failed);
    session->socket.shutdown(tcp::socket::shutdown_send, failed);
    session->allow(kLingerSeconds);
    std::array<char, kFirstBytes> thrown_away;
    const auto room = asio::buffer(thrown_away);
    for (std::size_t total = 0; !failed && !session->is_out_of_time && total < kLingerBytes;)
      total += co_await session->socket.async_read_some(room, token);
  }

  std::string next_id() { return fmt::format("{}-{:06}", id_prefix_, ++requests_); }

  const ServerSettings settings_;
  const Handlers handlers_;
  std::string id_prefix_;
  std::uint64_t requests_ = 0;
  int port_ = 0;
  std::size_t connections_ = 0;  // at most
  std::size_t body_bytes_ = 0;   // of bodies on their way
  bool is_stopping_ = false;
  std::atomic<int> streams_ = 0;
  std::set<Session*> sessions_;
  std::map<std::string, int> by_address_;
  std::promise<void> ended_;
  asio::io_context io_{1};
  asio::thread_pool readers_{1}, writers_{1}, thinkers_{1};
  tcp::acceptor acceptor_{io_};
  asio::steady_timer retry_{io_}, pulse_{io_};
  std::atomic<std::uint64_t> beats_ = 0;
  std::thread thread_;
};

}  // namespace

Result<std::unique_ptr<Server>> Server::start(const ServerSettings& settings, Handlers handlers) {
  auto server = std::make_unique<BeastServer>(settings, std::move(handlers));
  if (auto error = server->listen()) return *std::move(error);
  return std::unique_ptr<Server>(std::move(server));
}

}  // namespace hakea::service
