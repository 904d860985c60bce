import type { JSX } from 'preact'
import { useState } from 'preact/hooks'
import { usePreferences } from '../../data/preferences.ts'
import { tellNumber, tellVolume } from '../../data/quantity.ts'
import { useTelling } from '../../data/telling.ts'
import { Button } from '../../parts/button.tsx'
import { Choice, Input } from '../../parts/field.tsx'
import { Caution, Failure } from '../../parts/notice.tsx'
import { Table } from '../../parts/table.tsx'
import type { DeskProps } from '../desk-view.tsx'
import type { StocksAnswer, TankCard } from './answers.ts'
import { WaterChoice, type WaterGiven } from './water-choice.tsx'
import { cropOptions } from './water-desk.tsx'

/** The recipe as stock tanks, each with a card to mix it by, to be printed and written on. */
export function StocksDesk({ choices }: DeskProps): JSX.Element {
  const preferences = usePreferences()
  const [crop, setCrop] = useState(choices.crops[0]?.id ?? '')
  const [water, setWater] = useState<WaterGiven>('reverse-osmosis')
  const [stocks, setStocks] = useState('A:100x,B:100x')
  const [tank, setTank] = useState(preferences.volume === 'L' ? '20' : '5')
  const [coldest, setColdest] = useState(preferences.temperature === '°C' ? '10' : '50')
  const telling = useTelling<StocksAnswer>()
  const submit = async (event: Event) => {
    event.preventDefault()
    await telling.run('/api/desk/stocks', {
      crop,
      water,
      stocks,
      tank: `${tank}${preferences.volume}`,
      coldest: `${coldest}${preferences.temperature}`,
    })
  }
  return (
    <section aria-labelledby="stocks-title">
      <h2 id="stocks-title">Stock tanks</h2>
      <form class="no-print" onSubmit={submit}>
        <div class="fields">
          <Choice label="Crop" value={crop} onValue={setCrop} options={cropOptions(choices)} />
          <WaterChoice choices={choices} value={water} onValue={setWater} />
          <Input
            label="Tanks"
            value={stocks}
            onValue={setStocks}
            hint="Name and strength of each, for example A:100x,B:100x"
          />
          <Input label="Volume of each" type="number" value={tank} onValue={setTank} unit={preferences.volume} />
          <Input
            label="Coldest they get"
            type="number"
            value={coldest}
            onValue={setColdest}
            unit={preferences.temperature}
          />
        </div>
        <Button type="submit" class="is-main" isOff={telling.isBusy}>
          Plan the tanks
        </Button>
      </form>
      <Failure lines={telling.failure} />
      {telling.answer === null ? null : <Tanks answer={telling.answer} />}
    </section>
  )
}

function Tanks({ answer }: { readonly answer: StocksAnswer }): JSX.Element {
  if (answer.kind === 'refused') {
    return (
      <div class="notice is-abnormal" role="alert">
        {answer.refusals.map(({ tank, why, nextStep }) => (
          <p key={`${tank} ${why}`}>
            ✕ Tank {tank}: {why} {nextStep}
          </p>
        ))}
      </div>
    )
  }
  return (
    <>
      <button type="button" class="no-print" onClick={() => print()}>
        Print the cards
      </button>
      {answer.tanks.map((tank) => (
        <Card key={tank.name} tank={tank} />
      ))}
      {answer.acid === undefined ? null : (
        <article class="sheet">
          <h3>{answer.acid.name}</h3>
          <ol>
            {answer.acid.steps.map((step) => (
              <li key={step}>{step}</li>
            ))}
          </ol>
          <Cautions lines={answer.acid.cautions} />
        </article>
      )}
      <Cautions lines={answer.cautions} />
      {answer.notes.map((note) => (
        <p key={note} class="quiet">
          {note}
        </p>
      ))}
    </>
  )
}

function Card({ tank }: { readonly tank: TankCard }): JSX.Element {
  return (
    <article class="sheet">
      <h3>
        Tank {tank.name}: {tellVolume(tank.tankL, usePreferences())}, {tank.factor} times
      </h3>
      <Table
        caption="In this order"
        rows={tank.salts}
        keyOf={({ salt }) => salt}
        columns={[
          { title: 'Salt', tell: ({ salt }) => salt },
          { title: 'g', isNumber: true, tell: ({ grams }) => tellNumber(grams) },
          { title: 'How', tell: ({ how }) => how },
          { title: 'Lot', tell: () => '______' },
          { title: 'Done', tell: () => '☐' },
        ]}
      />
      <p>
        Check: 10 mL made up to 1 L with pure water shows {tank.dilutedDsPerM.toFixed(2)} mS/cm (
        {tank.dilutedLowDsPerM.toFixed(2)} to {tank.dilutedHighDsPerM.toFixed(2)}). Outside that, do not use it.
      </p>
      <p>
        {tank.mlPerLMakeUp.toFixed(2)} mL for each litre; injector {tank.injector}. Mixed on ______ by ______
      </p>
      <Cautions lines={tank.cautions} />
    </article>
  )
}

export function Cautions({ lines }: { readonly lines: readonly string[] }): JSX.Element | null {
  if (lines.length === 0) return null
  return <Caution>{lines.join(' ')}</Caution>
}
