// Signing in with a token, which becomes a session: the token is sent once and kept nowhere in the page.
import { useState } from 'preact/hooks';
import { ask, type Problem } from './api';
import { useApp } from './app';
import { showChange } from './live';
import { Trouble } from './parts';

export function SignIn() {
  const [token, setToken] = useState('');
  const [problem, setProblem] = useState<Problem>();
  const send = async (event: Event) => {
    event.preventDefault();
    setProblem(undefined);
    try {
      await ask('/session', { method: 'POST', body: { token: token.trim() } });
      setToken('');
      await showChange();
    } catch (refused) {
      setProblem(refused as Problem);
    }
  };
  return (
    <form class="card sign-in" onSubmit={send}>
      <h1>Sign in</h1>
      <p>With the token that was shown when it was made. Whoever runs this service makes one: hakea token create.</p>
      <label class="wide">
        Token
        <input type="password" autocomplete="current-password" required value={token} onInput={(e) => setToken(e.currentTarget.value)} />
      </label>
      <Trouble problem={problem} />
      <button type="submit" class="main">
        Sign in
      </button>
    </form>
  );
}

export function SignedIn() {
  const { session } = useApp();
  const leave = async () => {
    await ask('/session', { method: 'DELETE' }).catch(() => undefined);
    location.reload();
  };
  return (
    <span class="who">
      {session.actor === session.role ? session.actor : `${session.actor}, ${session.role}`}
      {session.session && (
        <button type="button" onClick={leave}>
          Sign out
        </button>
      )}
    </span>
  );
}
