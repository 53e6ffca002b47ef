export function MapView(_: { place: import('./app').Place }) { return <h1>Map</h1>; }
