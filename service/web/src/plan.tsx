export function PlanView(_: { place: import('./app').Place }) { return <h1>Plan</h1>; }
