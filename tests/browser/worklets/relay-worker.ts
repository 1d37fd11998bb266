// Sends on over the port what it was sent.
onmessage = ({ data }: MessageEvent<{ readonly sent: unknown; readonly port: MessagePort }>) => data.port.postMessage({ sent: data.sent });
