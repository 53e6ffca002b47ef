// What a view draws from beside its own state.
import { useEffect, useReducer, useRef } from 'preact/hooks';
import { answerOf, listenTo, need, type Answer } from './api';

// Draws again whenever what `read` gives is another; `listen` is called anew when it changes.
export function useOutside<T>(listen: (tell: () => void) => () => void, read: () => T, on: unknown): T {
  const [, redraw] = useReducer((n: number) => n + 1, 0);
  const value = read();
  const drawn = useRef(value);
  drawn.current = value;
  useEffect(() => {
    const look = () => read() !== drawn.current && redraw(0);
    const stop = listen(look);
    look(); // it may have changed since it was drawn
    return stop;
  }, [on]);
  return value;
}

const nothing: Answer<never> = { loading: false };

// The answer of a path, asked for when it is first needed; null asks for nothing.
export function useData<T>(path: string | null): Answer<T> {
  if (path) void need(path);
  const listen = (tell: () => void) => {
    if (!path) return () => undefined;
    const stop = listenTo(path, tell);
    void need(path); // what nobody listened to may have been forgotten meanwhile
    return stop;
  };
  return useOutside<Answer<T>>(listen, () => (path ? answerOf<T>(path) : nothing), path);
}
